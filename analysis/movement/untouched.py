"""How a neck lies between two scans in one state: a field through what no file touched."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from analysis.movement.changes import board_change, shared_lanes, top_change
from analysis.movement.movement import Field, fit_movement
from analysis.neck.neck import Neck


def untouched_movement(before: Neck, after: Neck, planned_um: FloatArray, joint: float) -> Field:
    """Movement, after minus before, of the board and of the frets with nothing planned.

    planned_um: [frets, strings]; joint: the body joint's x, mm. A neck clamped anew lies
    elsewhere, and wood moves with the weather: both are smooth, and both must be told from
    metal. Raises ValueError where the scans share too little.
    """
    _, lanes = shared_lanes(after, before)
    tops, board = top_change(after, before), board_change(after, before)
    cut = _near_cut(before.string[lanes], planned_um)
    return fit_movement(
        np.concatenate([tops.x_mm, board.x_mm]),
        np.concatenate([tops.y_mm, board.y_mm]),
        np.concatenate([np.where(cut, np.nan, tops.dz_mm), board.dz_mm]),
        np.concatenate([tops.u_mm, board.u_mm]),
        joint,
    )


def _near_cut(string: FloatArray, planned_um: FloatArray) -> NDArray[np.bool_]:
    """[frets, lanes]: a cut was planned under the lane's string or one beside it."""
    planned = np.nan_to_num(planned_um) > 0.0
    low = np.clip(np.floor(string).astype(int) - 2, 0, planned.shape[1] - 1)
    high = np.clip(np.ceil(string).astype(int), 0, planned.shape[1] - 1)
    return np.stack(
        [planned[:, a : b + 1].any(axis=1) for a, b in zip(low, high, strict=True)], axis=1
    )
