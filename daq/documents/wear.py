"""Wear and loose frets as documents."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from analysis.wear.loose import Loose
from analysis.wear.wear import Wear
from daq.documents.numbers import mm, rounded, u_mm, u_um, um


def wear_document(wear: Wear) -> list[dict[str, Any]]:
    """One entry for each fret and string; what could not be had is None, and `status` says why.

    dent_width_mm is None wherever no lane beside the string lies in the hollow, which is usual.
    """
    frets, strings = wear.verdict.shape
    return [_entry(wear, (f, s)) for f in range(frets) for s in range(strings)]


def loose_document(loose: Sequence[Loose]) -> list[dict[str, Any]]:
    """One entry for each fret that does not keep its height."""
    return [
        {
            "fret": one.fret,
            "strings": list(one.strings),
            "size_um": um(1e3 * one.size_mm),
            "u_size_um": u_um(1e3 * one.u_mm),
            "why": one.why,
        }
        for one in loose
    ]


def _entry(wear: Wear, at: tuple[int, int]) -> dict[str, Any]:
    fret, string = at
    entry: dict[str, Any] = {
        "fret": fret + 1,
        "string": string + 1,
        "dent_um": um(1e3 * wear.dent_mm[at]),
        "u_dent_um": u_um(1e3 * wear.u_dent_mm[at]),
        "dent_width_mm": rounded(wear.dent_width_mm[at], 2),
        "flat_mm": mm(wear.flat_mm[at]),
        "u_flat_mm": u_mm(wear.u_flat_mm[at]),
        "verdict": str(wear.verdict[at]),
    }
    unknown = [
        name
        for name, value in (("dent", wear.dent_mm[at]), ("flat", wear.flat_mm[at]))
        if not np.isfinite(value)
    ]
    entry["status"] = f"not known: {', '.join(unknown)}" if unknown else "ok"
    return entry
