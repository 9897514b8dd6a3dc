"""Planned against achieved as a document."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from analysis.after.law import Law
from analysis.after.verify import Cut
from daq.documents.numbers import rounded, u_um, um

NO_LAW = "no law yet: it needs at least 3 cuts of different depth"
NOT_SEEN = "not seen: no lane under this string in both scans"


def verify_document(cuts: Sequence[Cut], law: Law | None, next_words: str) -> dict[str, Any]:
    """Every planned cut with its verdict, the law learnt, what to do next.

    `law` is None where there is none, and `status` says so.
    """
    document: dict[str, Any] = {
        "cuts": [_cut(cut) for cut in cuts],
        "law": None if law is None else _law(law),
        "next": next_words,
    }
    return {**document, "status": NO_LAW} if law is None else document


def _cut(cut: Cut) -> dict[str, Any]:
    entry = {
        "fret": cut.fret,
        "string": cut.string,
        "planned_um": um(cut.planned_um),
        "achieved_um": um(cut.achieved_um),
        "u_achieved_um": u_um(cut.u_achieved_um),
        "verdict": cut.verdict,
    }
    return entry if np.isfinite(cut.achieved_um) else {**entry, "status": NOT_SEEN}


def _law(law: Law) -> dict[str, Any]:
    return {
        "gain": rounded(law.gain, 4),
        "u_gain": rounded(law.u_gain, 4),
        "offset_um": rounded(law.offset_um, 2),
        "u_offset_um": u_um(law.u_offset_um),
        "scatter_um": rounded(law.scatter_um, 2),
        "cuts": law.cuts,
    }
