"""What changed from one scan of a neck to another, at the same places of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from analysis.neck.datum import gap_y_mm
from analysis.neck.neck import Neck

#: Terms of a top's uncertainty that are the same for it in every scan with one rig.
ALIKE = ("tip", "spot", "sensor")
#: And what bends a neck gently: a movement's field takes it up.
BENDS = "clamping"


@dataclass(frozen=True, slots=True)
class Change:
    """Arrays [frets or gaps, shared lanes], mm: places in the later scan, heights after less
    before, and the standard uncertainty of that."""

    x_mm: FloatArray
    y_mm: FloatArray
    dz_mm: FloatArray
    u_mm: FloatArray


def shared_lanes(after: Neck, before: Neck) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Columns of the lanes that both scans have, by number. Raises ValueError where none is."""
    shared, i, j = np.intersect1d(after.string, before.string, return_indices=True)
    if shared.size == 0:
        raise ValueError("the two scans have no lane in common")
    return i, j


def top_change(after: Neck, before: Neck) -> Change:
    """Of the fret tops.

    What both scans get wrong alike falls out of its u: the tip on the board's slope, the spot,
    the sensor's curve, and the rail's map at one x. How clamping bends a neck is no scatter.
    """
    i, j = shared_lanes(after, before)
    x, y = after.x_mm[:, i], after.y_mm[:, i]
    dz = after.top_mm[:, i] - before.top_mm[:, j] - _beside_mm(before, x, before.y_mm[:, j], y)
    return Change(x, y, dz, np.hypot(_own_mm(after)[:, i], _own_mm(before)[:, j]))


def board_change(after: Neck, before: Neck) -> Change:
    """Of the board in the gaps."""
    i, j = shared_lanes(after, before)
    x = after.gap_x_mm[:, i]
    y, y_before = gap_y_mm(after)[:, i], gap_y_mm(before)[:, j]
    dz = after.board_mm[:, i] - before.board_mm[:, j] - _beside_mm(before, x, y_before, y)
    return Change(x, y, dz, np.hypot(after.u_board_mm[:, i], before.u_board_mm[:, j]))


def _beside_mm(neck: Neck, x_mm: FloatArray, y_mm: FloatArray, to_mm: FloatArray) -> FloatArray:
    """How much higher the neck is at y = to_mm than at y_mm, along its arc.

    A neck shifted on the rig has other lanes: 4 mm along are 0.05 mm across on the outer ones of
    a fan, and 3 um of height there.
    """
    return (to_mm - y_mm) * neck.arc.slope(x_mm, 0.5 * (y_mm + to_mm))


def _own_mm(neck: Neck) -> FloatArray:
    return neck.terms.without(*ALIKE, BENDS).u_mm
