"""What the workshop has learnt of its tools, as documents."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from analysis.after.law import Law
from daq.documents.numbers import rounded, u_um, um
from daq.steps.law import HandLaw, Known

NO_LAW = "no law yet: it needs at least 3 cuts of different depth"


def laws_document(laws: Sequence[HandLaw]) -> dict[str, Any]:
    """Every tool and metal with verified cuts. `law` is null where there is none, with `status`.

    `cuts`, `sessions`: verified in all; those in `law` without slips. `start`: what the law
    began from, `others` laws of the workshop in it.
    """
    return {"laws": [_hand_law(one) for one in laws]}


def known_document(known: Known) -> dict[str, Any]:
    """What a plan's aims go by: `law` of this tool and metal, null where there is none; then
    `nearest` names another's, which is not used."""
    law = known.law
    entry: dict[str, Any] = {
        "tool": known.hand.tool,
        "metal": known.hand.metal,
        "law": None if law is None else law_document(law),
        "nearest": None if known.nearest is None else _hand_law(known.nearest),
    }
    return entry if law is not None else {**entry, "status": NO_LAW}


def law_document(law: Law) -> dict[str, Any]:
    """Gain, offset, scatter, and what they rest on."""
    deepest = law.deepest_um
    return {
        "gain": rounded(law.gain, 4),
        "u_gain": rounded(law.u_gain, 4),
        "offset_um": rounded(law.offset_um, 2),
        "u_offset_um": u_um(law.u_offset_um),
        "scatter_um": rounded(law.scatter_um, 2),
        "cuts": law.cuts,
        "sessions": law.sessions,
        "day_gain": rounded(law.day_gain, 4),
        "correlation": rounded(law.correlation, 3),
        "shallowest_um": um(law.shallowest_um),
        "deepest_um": um(deepest) if np.isfinite(deepest) else None,
    }


def _hand_law(one: HandLaw) -> dict[str, Any]:
    entry: dict[str, Any] = {
        "tool": one.hand.tool,
        "metal": one.hand.metal,
        "cuts": one.cuts,
        "sessions": one.sessions,
        "last": one.last,
        "law": None if one.law is None else law_document(one.law),
        "start": {"gain": rounded(one.start[0], 4), "u_gain": rounded(one.start[1], 4)},
        "others": one.others,
    }
    return entry if one.law is not None else {**entry, "status": NO_LAW}
