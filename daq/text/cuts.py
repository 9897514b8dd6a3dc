"""The cuts: a sentence for each fret and the table in micrometres."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np
from rich.console import Console
from rich.text import Text

from analysis.after.aim import aim_um
from analysis.after.law import Law
from analysis.instrument import FloatArray
from analysis.plan.plan import Plan
from daq.documents.numbers import cut_um
from daq.documents.screws import LEAST_CUT_UM
from daq.text.console import bullets, heading, say
from daq.text.grid import print_grid
from daq.text.words import named, span_mm

NO_NOTES: Mapping[int, str] = MappingProxyType({})


def print_cuts(
    console: Console, plan: Plan, law: Law | None = None, notes: Mapping[int, str] = NO_NOTES
) -> None:
    """Sentences, the table, and with a law what to mean to take. notes: see `cut_sentences`."""
    removal = removals_um(plan)
    heading(console, "Cuts")
    bullets(console, cut_sentences(removal, notes))
    if not removal.any():
        return
    heading(console, "To come off, µm (frets down, strings across)")
    _print_table(console, removal)
    u = 1e3 * plan.u_remove_mm[(removal > 0) & np.isfinite(plan.u_remove_mm)]
    if u.size:
        say(
            console,
            f"Tops are known to ± {2 * float(np.max(u)):.1f} µm or better (twice the "
            "standard uncertainty).",
        )
    if law is not None:
        _print_aim(console, removal, np.round(aim_um(removal, law), 1))


def _print_aim(console: Console, removal_um: FloatArray, aim: FloatArray) -> None:
    """What to mean to take; a cut that no aim suits is named."""
    heading(console, "To aim at, µm, by what earlier cuts took")
    _print_table(console, aim)
    for fret, string in np.argwhere((removal_um > 0) & (aim <= 0)).tolist():
        say(
            console,
            f"Fret {fret + 1} under string {string + 1}: by the law even a light cut would go "
            "past the plan; take a finer tool, or leave it.",
        )


def removals_um(plan: Plan) -> FloatArray:
    """[frets, strings]: removals as they are written down, up to the next 0.1 µm."""
    return written_um(plan.remove_mm)


def written_um(remove_mm: FloatArray) -> FloatArray:
    """[frets, strings]: as `removals_um`, of what is to come off."""
    removal = 1e3 * remove_mm
    out = np.zeros(removal.shape)
    for at in np.argwhere(removal > LEAST_CUT_UM).tolist():
        out[tuple(at)] = cut_um(removal[tuple(at)])
    return out


def cut_sentences(removal_um: FloatArray, notes: Mapping[int, str] = NO_NOTES) -> list[str]:
    """One sentence for each fret that is lowered, one for those that stay.

    notes: by fret, what a cut on it must not be read without.
    """
    lowered = np.flatnonzero((removal_um > 0).any(axis=1)).tolist()
    if not lowered:
        return ["No metal comes off: every fret stays as it is."]
    sentences = [_lower(fret, removal_um[fret], notes.get(fret + 1)) for fret in lowered]
    stay = sorted(set(range(removal_um.shape[0])) - set(lowered))
    if stay:
        verb = "stays" if len(stay) == 1 else "stay"
        sentences.append(f"{named('Fret', [fret + 1 for fret in stay])} {verb}.")
    return sentences


def _lower(fret: int, row_um: FloatArray, note: str | None) -> str:
    strings = np.flatnonzero(row_um > 0)
    amount = span_mm([1e-3 * float(row_um[s]) for s in strings])
    said = f"Lower fret {fret + 1} under {named('string', (strings + 1).tolist())} by {amount}"
    return f"{said} - but {note}." if note else f"{said}."


def _print_table(console: Console, removal_um: FloatArray) -> None:
    """Only the frets that are lowered; a dot where a fret stays under a string."""
    lowered = np.flatnonzero((removal_um > 0).any(axis=1)).tolist()
    cells = [
        [Text(f"{um:.1f}") if um > 0 else Text(".", style="dim") for um in removal_um[fret]]
        for fret in lowered
    ]
    print_grid(console, "fret", [str(fret + 1) for fret in lowered], cells)
