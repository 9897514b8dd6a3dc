"""The plain record of one traverse, as the rest of this room takes it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.floating[Any]]


@dataclass(frozen=True, slots=True)
class Pad:
    """Ground steel fixed to the rail, in carriage millimetres."""

    from_mm: float
    to_mm: float


@dataclass(frozen=True, slots=True)
class RawPass:
    """One traverse of one lane, in units but not yet corrected.

    lane: the lane's number on its scan, shared by the passes both ways over it.
    string: the string the lane lies under; 2.5 is midway between strings 2 and 3;
        NaN where the lane has nothing to do with strings.
    direction: +1 away from the nut, -1 back towards it.
    t_s: float[n], device time, unwrapped, seconds since the scan's first sample.
    x_mm: float[n], carriage position as counted.
    y_mm: float[n], cross position as counted or as set by hand.
    z_mm: float[n], sensor reading, up, NaN where there was none.
    temp_c: float[n], temperature, NaN where none came with the sample; None on a rig without.
    """

    lane: int
    string: float
    direction: int
    speed_mm_s: float
    t_s: FloatArray
    x_mm: FloatArray
    y_mm: FloatArray
    z_mm: FloatArray
    temp_c: FloatArray | None = None
