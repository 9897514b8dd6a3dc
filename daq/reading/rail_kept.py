"""The estimates that a rail map was made of, as they are kept for later joins, and back."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from calibration.passes import FloatArray
from calibration.rail.estimate import (
    RailEstimate,
    estimate,
    independent,
    long_covariance,
    polynomials,
)
from calibration.rail.map import RailMap, numbers, rising, rows_of
from calibration.rail.sums import RailSums
from daq.reading.found import Document

#: Digits of the largest number of a row that are kept; a position's must hold its cell.
DIGITS, PLACE_DIGITS = 5, 7
ROWS = ("r_um", "own_um")
TABLES = ("modes_um", "free")


@dataclass(frozen=True, slots=True)
class KeptEstimate:
    """One method's rail. made: ISO 8601 with offset. celsius: None where nobody knows.

    scans: names of the scan files it came from.
    """

    estimate: RailEstimate
    made: str
    celsius: float | None
    scans: tuple[str, ...]


def kept_document(one: KeptEstimate) -> dict[str, object]:
    """Long rows of numbers stand each in one text, or a document would have a line for each."""
    return {
        "made": one.made,
        "celsius": one.celsius,
        "scans": list(one.scans),
        "u_um": round(1e3 * float(np.median(one.estimate.u_seen_mm)), 4),
        **estimate_document(one.estimate),
    }


def kept_of(document: Document) -> KeptEstimate:
    """Raises KeyError or ValueError where the document holds no estimate."""
    celsius = document["celsius"]
    return KeptEstimate(
        estimate_of(document),
        str(document["made"]),
        None if celsius is None else float(celsius),
        tuple(str(scan) for scan in document["scans"]),
    )


def estimate_document(one: RailEstimate) -> dict[str, object]:
    """An estimate with its rows packed."""
    plain = one.to_document()
    rows = {key: packed(plain[key]) for key in ROWS}
    tables = {key: [packed(row) for row in plain[key]] for key in TABLES}
    x_mm = packed(plain["x_mm"], PLACE_DIGITS)
    return {"method": one.method, "unseen": list(one.unseen), "x_mm": x_mm, **rows, **tables}


def estimate_of(document: Document) -> RailEstimate:
    """Raises KeyError or ValueError where the document holds no estimate."""
    rows = {key: unpacked(document[key]) for key in ("x_mm", *ROWS)}
    tables = {key: [unpacked(row) for row in document[key]] for key in TABLES}
    return RailEstimate.from_document({**document, **rows, **tables})


def sums_of(document: Document) -> RailSums:
    """An estimate's joint error alone. Raises KeyError or ValueError where there is none."""
    x_mm = rising(unpacked(document["x_mm"]))
    own = numbers(unpacked(document["own_um"]), x_mm.shape)
    modes, free = (rows_of([unpacked(r) for r in document[k]], x_mm.size) for k in TABLES)
    return RailSums(x_mm, 1e-3 * own, 1e-3 * modes, free)


def packed(values: Sequence[float], digits: int = DIGITS) -> str:
    """Numbers in one text, as many decimals as the largest deserves."""
    largest = max((abs(value) for value in values), default=0.0)
    decimals = max(digits - 1 - math.floor(math.log10(largest)), 0) if largest > 0.0 else 0
    return " ".join(f"{value:.{decimals}f}" for value in values)


def unpacked(text: Any) -> FloatArray:
    """Raises ValueError where it is no text of numbers."""
    if not isinstance(text, str):
        raise ValueError(f"found {type(text).__name__} where a text of numbers belongs")
    return np.array([float(word) for word in text.split()])


def estimate_of_map(rail: RailMap, document: Document) -> KeptEstimate:
    """What a document of the first kind was made of: one straightedge's cells.

    Raises KeyError or ValueError where it does not say how good the straightedge was.
    """
    edge_mm = 1e-3 * float(document["u_straightedge_um"])
    own = np.sqrt(np.clip(rail.u_mm**2 - edge_mm**2, 0.0, None))
    joint = independent(own) + long_covariance(rail.x_mm, edge_mm)
    words = (
        "the straightedge's own error, which stands in the rail: "
        f"{1e3 * edge_mm:g} µm of it are in the uncertainty",
        "a straight line: height and tilt of the straightedge on the rig",
    )
    free = polynomials(rail.x_mm, 1)
    found = estimate("straightedge", rail.x_mm, rail.r_mm, joint, free, words)
    return KeptEstimate(found, str(document["made"]), None, (str(document["scan"]),))
