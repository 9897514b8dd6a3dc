"""Bends as a document."""

from __future__ import annotations

from typing import Any

import numpy as np

from analysis.instrument import FloatArray
from analysis.plan.chokes import Choke, Chokes
from daq.documents.numbers import mm, rounded, u_mm, um


def chokes_document(chokes: Chokes | None) -> dict[str, Any]:
    """`chokes` now, `chokes_after`, `choke_cut`, `widest_bends` now and after; for a player who
    does not bend the lists are empty and `choke_cut` is null.

    choke_cut: the least metal that alone would stop what chokes now, null where nothing chokes or
    no cut would. radius_mm: the smallest board radius that would, null where none would.
    """
    if chokes is None:
        return {"chokes": [], "chokes_after": [], "choke_cut": None, "widest_bends": []}
    return {
        "chokes": [_choke(one) for one in chokes.now],
        "chokes_after": [_choke(one) for one in chokes.after],
        "choke_cut": None if chokes.cut_mm is None else _cut(chokes.cut_mm),
        "widest_bends": [
            {
                "string": string,
                "fret": fret,
                "now_semitones": float(chokes.widest_now[fret - 1, string - 1]),
                "after_semitones": float(chokes.widest_after[fret - 1, string - 1]),
            }
            for string in range(1, chokes.widest_now.shape[1] + 1)
            for fret in range(1, chokes.widest_now.shape[0])
        ],
    }


def _choke(one: Choke) -> dict[str, Any]:
    return {
        "string": one.string,
        "fretted": one.fretted,
        "over_fret": one.at,
        "clearance_mm": mm(one.clearance_mm),
        "u_clearance_mm": u_mm(one.u_mm),
        "touches": one.clearance_mm < 0.0,
        "short_mm": mm(one.short_mm),
        "verdict": one.verdict,
        "radius_mm": None if one.radius_mm is None else rounded(one.radius_mm, 1),
        "radius_now_mm": rounded(one.now_radius_mm, 1),
    }


def _cut(cut_mm: FloatArray) -> dict[str, Any]:
    frets = np.flatnonzero(cut_mm.max(axis=1) > 5e-5) + 1
    return {"metal_um": um(1e3 * float(cut_mm.sum())), "frets": frets.tolist()}
