"""Fret tops of one state as a document."""

from __future__ import annotations

from typing import Any

import numpy as np

from analysis.board.arc import NO_ARC_MM
from analysis.instrument import Instrument
from analysis.neck.relief import Relief
from analysis.neck.shape import Shape
from daq.documents.numbers import mm, rounded, u_mm

NO_RELIEF = "the top of fret 1 or of the body-joint fret is not known"
NO_RADIUS = "board radius: flat, or seen by too few lanes"


def tops_document(
    job: str | None, scan: str, shape: Shape, instrument: Instrument
) -> dict[str, Any]:
    """One entry for each fret and string, relief for each string, twist, board radius.

    What could not be had is None, and a `status` says why.
    """
    strings = range(1, len(instrument.strings) + 1)
    document: dict[str, Any] = {
        "job": job,
        "state": shape.state,
        "scan": scan,
        "frets": [
            _fret(shape, fret, string)
            for fret in range(1, instrument.frets + 1)
            for string in strings
        ],
        "relief": [
            _relief(string, relief) for string, relief in zip(strings, shape.relief, strict=True)
        ],
        "twist_mrad": rounded(shape.twist_mrad, 3),
        "u_twist_mrad": rounded(shape.u_twist_mrad, 3),
        "board_radius_mm": [
            rounded(radius, 1) if radius < NO_ARC_MM else None for radius in shape.board_radius_mm
        ],
    }
    if None in document["board_radius_mm"]:
        document["status"] = NO_RADIUS
    return document


def _fret(shape: Shape, fret: int, string: int) -> dict[str, Any]:
    at = (fret - 1, string - 1)
    return {
        "fret": fret,
        "string": string,
        "x_mm": mm(shape.x_mm[at]),
        "top_mm": mm(shape.top_mm[at]),
        "u_top_mm": u_mm(shape.u_top_mm[at]),
        "height_mm": mm(shape.height_mm[at]),
        "u_height_mm": u_mm(shape.u_height_mm[at]),
        "flat_mm": mm(shape.flat_mm[at]),
        "status": _status(shape, at),
    }


def _status(shape: Shape, at: tuple[int, int]) -> str:
    status = str(shape.status[at])
    if status != "ok":
        return status
    known = {"top": shape.top_mm, "height": shape.height_mm, "flat": shape.flat_mm}
    unknown = [name for name, values in known.items() if not np.isfinite(values[at])]
    return f"not known: {', '.join(unknown)}" if unknown else status


def _relief(string: int, relief: Relief) -> dict[str, Any]:
    entry = {
        "string": string,
        "relief_mm": mm(relief.relief_mm),
        "u_relief_mm": u_mm(relief.u_relief_mm),
        "at_fret": relief.at_fret if relief.at_fret > 0 else None,
    }
    return entry if relief.at_fret > 0 else {**entry, "status": NO_RELIEF}
