"""A neck that was read as the few numbers that an archive keeps."""

from __future__ import annotations

import hashlib
import json
import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from analysis.instrument import FloatArray, Instrument
from analysis.neck.shape import Shape, strung_shape, unstrung_shape
from analysis.wear.wear import SURE, Wear, wear_of
from daq.reading.neck import ReadScan

UM_PER_MM = 1e3
#: What the document's numbers are rounded to, micrometres: a hundredth of the best uncertainty.
DIGITS = 3


@dataclass(frozen=True, slots=True)
class Numbers:
    """The columns of a reading; see `daq.archive.reading`."""

    relief_um: float | None
    u_relief_um: float | None
    wear_um: float | None
    worst_top_um: float | None
    u_top_um: float | None
    document: str


def numbers_of(read: ReadScan, instrument: Instrument) -> Numbers:
    """Of one scan by itself, whatever scans of its job repeat it."""
    strung = read.scan.state == "strung"
    shape = (strung_shape if strung else unstrung_shape)(read.neck, instrument)
    wear = None if strung else wear_of(read.neck, instrument)
    relief = np.array([(one.relief_mm, one.u_relief_mm) for one in shape.relief])
    return Numbers(
        _median_um(relief[:, 0]),
        _median_um(relief[:, 1]),
        None if wear is None else _deepest_um(wear),
        _furthest_um(off_neighbours_mm(shape.x_mm, shape.top_mm)),
        _median_um(shape.u_top_mm),
        json.dumps(_document(read, shape, wear, relief), allow_nan=False, separators=(",", ":")),
    )


def off_neighbours_mm(x_mm: FloatArray, top_mm: FloatArray) -> FloatArray:
    """How far each top but the first and last stands over the line through its two neighbours.

    x_mm, top_mm: [frets, strings]; NaN where one of the three is not known.
    """
    share = (x_mm[1:-1] - x_mm[:-2]) / (x_mm[2:] - x_mm[:-2])
    return np.asarray(top_mm[1:-1] - (top_mm[:-2] + share * (top_mm[2:] - top_mm[:-2])))


def _document(
    read: ReadScan, shape: Shape, wear: Wear | None, relief: FloatArray
) -> dict[str, Any]:
    """relief by string; tops and dents by fret, then string. digest: of the tops and reliefs to
    their last bit."""
    digest = hashlib.sha256(shape.top_mm.tobytes() + shape.u_top_mm.tobytes() + relief.tobytes())
    document = {
        "state": shape.state,
        "relief_um": _rows_um(relief[:, 0]),
        "u_relief_um": _rows_um(relief[:, 1]),
        "top_um": _rows_um(shape.top_mm),
        "u_top_um": _rows_um(shape.u_top_mm),
        "calibrations": list(read.calibrations.described),
        "remarks": list(read.remarks),
        "digest": digest.hexdigest()[:16],
    }
    if wear is not None:
        document |= {"dent_um": _rows_um(wear.dent_mm), "u_dent_um": _rows_um(wear.u_dent_mm)}
    return document


def _rows_um(values_mm: FloatArray) -> Any:
    """Nested lists of micrometres, None for NaN."""
    if values_mm.ndim > 1:
        return [_rows_um(row) for row in values_mm]
    return [
        round(um, DIGITS) + 0.0 if math.isfinite(um) else None
        for um in (UM_PER_MM * values_mm).tolist()
    ]


def _median_um(values_mm: FloatArray) -> float | None:
    known = values_mm[np.isfinite(values_mm)]
    return float(UM_PER_MM * np.median(known)) if known.size else None


def _deepest_um(wear: Wear) -> float | None:
    known = np.isfinite(wear.dent_mm)
    if not known.any():
        return None
    sure = known & (wear.dent_mm > SURE * wear.u_dent_mm)
    return float(UM_PER_MM * np.max(wear.dent_mm, where=sure, initial=0.0))


def _furthest_um(off_mm: FloatArray) -> float | None:
    known = off_mm[np.isfinite(off_mm)]
    return float(UM_PER_MM * known[np.argmax(np.abs(known))]) if known.size else None
