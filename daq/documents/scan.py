"""Scans made, replayed or recovered, as documents."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from daq.record.recover import Recovered
from daq.record.scan import PassRecord, Scan


def scan_document(scan: Scan) -> dict[str, Any]:
    """What is in a scan file: passes, samples, what was lost or damaged."""
    return {
        "scan": str(scan.path),
        "id": scan.id,
        "purpose": scan.purpose,
        "state": scan.state,
        "rod_turns": scan.rod_turns,
        "end": scan.end,
        "status": scan.why or "ok",
        "samples": sum(len(one.samples) for one in scan.passes),
        "bad_frames": sum(one.bad_frames for one in scan.passes),
        "lost": sum(one.lost for one in scan.passes),
        "passes": [_pass(one) for one in scan.passes],
    }


def recovered_document(found: Sequence[Recovered]) -> dict[str, Any]:
    """Every journal that was found and what became of it."""
    return {
        "recovered": [
            {
                "journal": str(one.journal),
                "scan": None if one.scan is None else str(one.scan.path),
                "status": one.why or "ok",
            }
            for one in found
        ]
    }


def _pass(one: PassRecord) -> dict[str, Any]:
    return {
        "pass": one.number,
        "lane": one.lane,
        "string": None if one.string != one.string else one.string,
        "direction": one.direction,
        "attempt": one.attempt,
        "good": one.good,
        "samples": len(one.samples),
        "bad_frames": one.bad_frames,
        "lost": one.lost,
        "why": list(one.why),
    }
