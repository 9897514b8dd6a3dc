"""Strung against unstrung, in words."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from rich.console import Console

from analysis.findings.findings import Finding
from analysis.instrument import Instrument
from analysis.movement.movement import Field
from analysis.neck.shape import Shape
from daq.documents.movement import relief_changes
from daq.text.console import bullets, heading, say
from daq.text.findings import finding_sentences
from daq.text.grid import plain_table
from daq.text.words import fixed, signed

#: Points scattering this many times wider than their uncertainties deserve a word (own choice).
WIDE_SCATTER = 2.0


def print_compare(
    console: Console,
    strung: Shape,
    unstrung: Shape,
    field: Field,
    instrument: Instrument,
    findings: Sequence[Finding],
) -> None:
    """Relief in both states and its change, then what does not look like a neck bending."""
    heading(console, "Relief under the strings' pull, mm")
    table = plain_table(["string", "strung", "unstrung", "change", "± change"])
    changes = relief_changes(strung, unstrung, field, instrument.body_joint_fret)
    for c in changes:
        table.add_row(
            str(c.string),
            fixed(c.strung_mm, 3),
            fixed(c.unstrung_mm, 3),
            signed(c.change_mm, 4),
            fixed(2.0 * c.u_change_mm, 4),
        )
    console.print(table)
    say(console, "change: strung less unstrung; ±: twice the standard uncertainty", "dim")
    say(console, change_sentence([c.change_mm for c in changes]))
    bullets(console, movement_warnings(field, findings, len(instrument.strings)))


def change_sentence(changes_mm: list[float]) -> str:
    """What the strings do to the neck."""
    known = [change for change in changes_mm if np.isfinite(change)]
    if not known:
        return "What the strings do to relief is not known."
    mean = float(np.mean(known))
    way = "adds" if mean >= 0 else "takes away"
    return (
        f"The strings' pull {way} {fixed(abs(mean), 2)} mm of relief on average. "
        "The plan is made for the strung neck; the file meets the unstrung one."
    )


def movement_warnings(field: Field, findings: Sequence[Finding], strings: int) -> list[str]:
    """What is no smooth bending between the two scans; empty where all is well."""
    warnings = finding_sentences(findings, strings)
    if field.scatter > WIDE_SCATTER:
        warnings.append(
            f"The tops scatter {fixed(field.scatter, 1)} times wider about the movement than their "
            "uncertainties say; the uncertainties above are widened for it."
        )
    return warnings
