"""Planned against achieved as a document."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from analysis.after.law import Law
from analysis.after.standing import Standing
from analysis.after.verify import Cut, Left, worth_a_pass
from daq.documents.law import NO_LAW, law_document
from daq.documents.numbers import u_um, um
from daq.documents.plan import clearance_entry

NO_METAL = "what is left cannot be told: metal alone no longer meets every margin"
NOT_SEEN = "not seen: no lane under this string in both scans"


def verify_document(
    cuts: Sequence[Cut],
    law: Law | None,
    next_words: str,
    standing: Standing | None = None,
    left: Sequence[Left] = (),
) -> dict[str, Any]:
    """Every planned cut with its verdict, the law learnt, what to do next.

    `law` is None where there is none, and `status` says so. Beside the contract's: with each cut
    `left_um`, the least that still has to come off there for every margin to clear; `left`, all
    such places with what to mean to take; `standing`, the margins as the filed neck will stand;
    `another_pass`, whether it is worth one.
    """
    document: dict[str, Any] = {
        "cuts": [_cut(cut, standing) for cut in cuts],
        "law": None if law is None else law_document(law),
        "next": next_words,
    }
    if standing is not None:
        document["left"] = [_left(one) for one in left]
        document["standing"] = standing_document(standing)
        document["another_pass"] = worth_a_pass(standing, left)
    return {**document, "status": NO_LAW} if law is None else document


def standing_document(standing: Standing) -> dict[str, Any]:
    """Margins with the screws as they are to be. `done`: each clears with its guard or, where
    not, in 95 of 100 cases. `metal_can`: metal alone can bring them all to their guard."""
    return {
        "done": standing.done,
        "metal_can": standing.can,
        "guard": float(standing.guard),
        "places": len(standing.clearances),
        "near": len(standing.near),
        "short": len(standing.short),
        "left_um_total": um(1e3 * float(np.sum(standing.left_mm))),
        "margins": [clearance_entry(c) for c in standing.clearances if not c.bend],
        "bends": [clearance_entry(c) for c in standing.clearances if c.bend],
    }


def _cut(cut: Cut, standing: Standing | None) -> dict[str, Any]:
    entry = {
        "fret": cut.fret,
        "string": cut.string,
        "planned_um": um(cut.planned_um),
        "achieved_um": um(cut.achieved_um),
        "u_achieved_um": u_um(cut.u_achieved_um),
        "verdict": cut.verdict,
    }
    if standing is not None:
        entry["left_um"] = um(1e3 * standing.left_mm[cut.fret - 1, cut.string - 1])
        entry["u_left_um"] = u_um(1e3 * standing.u_left_mm[cut.fret - 1, cut.string - 1])
        if not standing.can:
            entry["status"] = NO_METAL
    return entry if np.isfinite(cut.achieved_um) else {**entry, "status": NOT_SEEN}


def _left(one: Left) -> dict[str, Any]:
    return {
        "fret": one.fret,
        "string": one.string,
        "left_um": um(one.left_um),
        "u_left_um": u_um(one.u_left_um),
        "aim_um": um(one.aim_um),
    }
