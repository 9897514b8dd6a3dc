"""What the workshop has learnt of its tools, as documents."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from daq.documents.numbers import rounded
from daq.documents.verify import NO_LAW, law_document
from daq.steps.law import HandLaw, Known


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
