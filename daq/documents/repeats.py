"""Which scans one neck was made of, as a document."""

from __future__ import annotations

from typing import Any

from daq.documents.numbers import u_um, um
from daq.reading.repeats import Repeats, TopOff

UNSURE = "the scans disagree, and which is right cannot be told; the lower one is taken"


def repeats_document(repeats: Repeats) -> dict[str, Any]:
    """File names of the scans that were combined, the latest last; scans left out with why; tops
    of single scans left out, `off_um` above the others. There `scan` is null, and a `status`
    says so, where it cannot be told which scan is off."""
    return {
        "scans": [path.name for path in repeats.used],
        "left_out": [{"scan": one.path.name, "why": one.why} for one in repeats.left_out],
        "outliers": [_outlier(one) for one in repeats.off],
    }


def _outlier(one: TopOff) -> dict[str, Any]:
    entry = {
        "scan": None if one.path is None else one.path.name,
        "fret": one.fret,
        "string": int(one.string) if one.string % 1.0 == 0.0 else one.string,
        "off_um": um(1e3 * one.off_mm),
        "u_off_um": u_um(1e3 * one.u_mm),
    }
    return {**entry, "status": UNSURE} if one.path is None else entry
