"""Scans read again, and what changed, as documents."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from daq.archive.again import Again
from daq.archive.changes import Change, Moved, Summary
from daq.documents.numbers import rounded, u_um


def again_document(archive: str, came: Again) -> dict[str, Any]:
    """Counts, and a line for each fault."""
    return {
        "archive": archive,
        "read": came.read,
        "already": came.already,
        "duplicates": came.duplicates,
        "faults": len(came.faults),
        "kinds": dict(sorted(came.kinds.items())),
        "told": came.faults,
    }


def changes_document(archive: str, grave: Iterable[Change], summary: Summary) -> dict[str, Any]:
    """How many of each kind, how much, and each scan that changed gravely."""
    return {
        "archive": archive,
        "kinds": dict(summary.kinds),
        "relief_um": _sizes(summary.relief_um),
        "tops_um": _sizes(summary.tops_um),
        "scans": [_change(one) for one in grave],
    }


def _sizes(sizes: tuple[float, float] | None) -> dict[str, float | None] | None:
    if sizes is None:
        return None
    return {"median": rounded(sizes[0], 3), "largest": rounded(sizes[1], 3)}


def _change(one: Change) -> dict[str, Any]:
    return {
        "url": one.url,
        "scan": one.scan_id,
        "kind": one.kind,
        "way_then": one.ways[0],
        "way_now": one.ways[1],
        "fault": one.fault,
        "relief": _moved(one.relief),
        "tops": _moved(one.tops),
        "dents": _moved(one.dents),
        "wear_then_um": None if one.wear_um[0] is None else rounded(one.wear_um[0], 3),
        "wear_now_um": None if one.wear_um[1] is None else rounded(one.wear_um[1], 3),
    }


def _moved(one: Moved | None) -> dict[str, Any] | None:
    if one is None:
        return None
    return {
        "by_um": rounded(one.by_um, 3),
        "u_um": u_um(one.u_um),
        "beyond": one.beyond,
        "fret": one.fret,
        "string": one.string,
    }
