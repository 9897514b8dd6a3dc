"""Cuts that no law explains: the file slipped, or the wrong place was cut."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analysis.after.line import Cuts
from analysis.instrument import FloatArray

#: A cut this many deviations off the median-slope line is a slip.
FAR = 5.0
#: No hand cuts closer than this, µm (own choice): few cuts may agree by chance.
HAND_UM = 1.0
#: So many cuts of a session say where its own line lies.
OWN_LINE = 3


def no_slip(cuts: Cuts) -> NDArray[np.bool_]:
    """bool[cuts]: near the median-slope line (Theil and Sen), each session about its own median.

    Slopes are those between cuts of one session; a session of fewer than 3 cuts is held against
    the median of all. A spread of next to nothing is held at the cuts' own uncertainty and a
    good hand's scatter.
    All are kept where no session has two depths.
    """
    sessions = [cuts.session == number for number in range(int(cuts.session.max()) + 1)]
    slopes = np.concatenate([_slopes(cuts.x[mine], cuts.y[mine]) for mine in sessions])
    if slopes.size == 0:
        return np.ones(cuts.x.size, dtype=bool)
    off = cuts.y - float(np.median(slopes)) * cuts.x
    middle = np.full(off.size, np.median(off))
    for mine in sessions:
        if np.count_nonzero(mine) >= OWN_LINE:
            middle[mine] = np.median(off[mine])
    off -= middle
    spread = 1.4826 * float(np.median(np.abs(off)))
    u = np.sqrt(cuts.variance_x + cuts.variance_y + HAND_UM**2)
    kept: NDArray[np.bool_] = np.abs(off) <= FAR * np.maximum(spread, u)
    return kept


def _slopes(x: FloatArray, y: FloatArray) -> FloatArray:
    i, j = np.triu_indices(x.size, 1)
    apart = x[i] != x[j]
    return np.asarray((y[i] - y[j])[apart] / (x[i] - x[j])[apart])
