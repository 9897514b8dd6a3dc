"""How a neck lies between two scans in one state: a field through what no file touched."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from analysis.neck.neck import Neck
from analysis.states.inferred import shared_lanes, u_between_mm
from analysis.states.movement import Field, fit_movement


def untouched_movement(before: Neck, after: Neck, planned_um: FloatArray, joint: float) -> Field:
    """Movement, after minus before, of the board and of the frets with nothing planned.

    planned_um: [frets, strings]; joint: the body joint's x, mm. A neck clamped anew lies
    elsewhere, and wood moves with the weather: both are smooth, and both must be told from
    metal. Raises ValueError where the scans share too little.
    """
    j, i = shared_lanes(after, before)
    cut = _near_cut(before.string[i], planned_um)
    dz_top = np.where(cut, np.nan, after.top_mm[:, j] - before.top_mm[:, i])
    dz_board = after.board_mm[:, j] - before.board_mm[:, i]
    gap_y = np.stack(
        [np.interp(before.gap_x_mm[:, k], before.x_mm[:, k], before.y_mm[:, k]) for k in i], axis=1
    )
    return fit_movement(
        np.concatenate([before.x_mm[:, i], before.gap_x_mm[:, i]]),
        np.concatenate([before.y_mm[:, i], gap_y]),
        np.concatenate([dz_top, dz_board]),
        np.concatenate(
            [
                u_between_mm(after, before),
                np.hypot(after.u_board_mm[:, j], before.u_board_mm[:, i]),
            ]
        ),
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
