"""Strung against unstrung as a document."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from analysis.findings.findings import Finding
from analysis.instrument import Instrument
from analysis.movement.movement import Field
from analysis.neck.shape import Shape
from daq.documents.findings import findings_document
from daq.documents.movement import ReliefChange, chord_movement, odd_frets, relief_changes
from daq.documents.numbers import mm, rounded, u_mm
from daq.documents.tops import NO_RELIEF


def compare_document(
    strung: Shape,
    unstrung: Shape,
    field: Field,
    instrument: Instrument,
    findings: Sequence[Finding],
) -> dict[str, Any]:
    """Relief in both states for each string, movement for each fret and string.

    Beside the contract's: `odd_frets`, those with a top that did not move with the neck,
    `scatter`, how many times wider than their uncertainties the tops lie about the movement,
    and `findings`, what there is besides bending.
    """
    joint = instrument.body_joint_fret
    dz, u_dz = chord_movement(field, unstrung.x_mm, unstrung.y_mm, joint)
    frets, strings = dz.shape
    return {
        "relief": [_relief(change) for change in relief_changes(strung, unstrung, field, joint)],
        "movement": [
            {
                "fret": fret + 1,
                "string": string + 1,
                "dz_mm": mm(dz[fret, string]),
                "u_dz_mm": u_mm(u_dz[fret, string]),
            }
            for fret in range(frets)
            for string in range(strings)
        ],
        "odd_frets": list(odd_frets(field)),
        "scatter": rounded(field.scatter, 2),
        "findings": findings_document(findings),
    }


def _relief(change: ReliefChange) -> dict[str, Any]:
    entry = {
        "string": change.string,
        "strung_mm": mm(change.strung_mm),
        "unstrung_mm": mm(change.unstrung_mm),
        "change_mm": mm(change.change_mm),
        "u_change_mm": u_mm(change.u_change_mm),
    }
    return {**entry, "status": NO_RELIEF} if entry["change_mm"] is None else entry
