"""What is doubtful in what a plan rests on, as a document."""

from __future__ import annotations

from typing import Any

from analysis.plan.doubts import Hanging, Touch
from daq.documents.findings import findings_document
from daq.documents.numbers import mm, rounded, u_mm, um
from daq.reading.doubts import Doubts


def doubts_document(doubts: Doubts) -> list[dict[str, Any]]:
    """One entry each: frets, findings, tops, then remarks on scans and calibrations.

    kind: "fret", "finding", "top" or "scan"; why, in a word or a phrase. Of a top: what comes
    off, how much higher or lower than read it may stand before which string touches what, and
    metal for each micrometre that it stands higher.
    """
    frets = [
        {"kind": "fret", "why": one.why, "fret": one.fret, "tops": [_top(h) for h in one.hanging]}
        for one in doubts.frets
    ]
    found = [
        {**entry, "kind": "finding", "why": entry["kind"]}
        for entry in findings_document(doubts.findings)
    ]
    tops = [
        {"kind": "top", "why": one.suspect.why, "fret": one.suspect.fret, **_top(one.hanging)}
        for one in doubts.tops
    ]
    return [*frets, *found, *tops, *({"kind": "scan", "why": why} for why in doubts.remarks)]


def _top(one: Hanging) -> dict[str, Any]:
    return {
        "string": one.string,
        "remove_um": um(1e3 * one.cut_mm),
        "u_top_mm": u_mm(one.u_mm),
        "higher": _touch(one.higher),
        "lower": _touch(one.lower),
        "metal_um_per_um": rounded(one.metal, 3),
    }


def _touch(touch: Touch) -> dict[str, Any] | None:
    """Null where nothing would touch, however far it errs."""
    by_mm = mm(touch.by_mm)
    if by_mm is None:
        return None
    return {"by_mm": by_mm, "string": touch.string, "fretted": touch.fretted, "at": touch.at}
