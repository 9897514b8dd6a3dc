"""The board between the frets, in every gap of every pass at once, and under the frets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.board.blocks import BLOCKS, Blocks, gap_blocks
from analysis.board.robust import Parabolas, Rows, first_offsets, reweighted
from analysis.instrument import FloatArray
from calibration.profile import Profile

#: How a board bends, standard deviation, 1/mm: a hump of 0.05 mm over 40 mm is much (common
#: practice, no source). So little is known of wood that far from any reading.
BEND_PER_MM = 1e-4
#: Under a fret the board is taken from readings this near, the nearer the more: waves of 25 mm
#: and longer are then still followed.
NEAR_MM = 16.0
#: Fewer blocks than this near a fret do not show the board under it.
FEWEST_NEAR = 6
#: With fewer gaps read than this no line is carried on under frets without readings.
FEWEST_GAPS = 3
#: Rounds of reweighting: from a first guess, and from weights that are nearly right.
ROUNDS, NEAR_ROUNDS = 5, 2


@dataclass(frozen=True, slots=True)
class Board:
    """[passes, frets]. z_mm, u_mm: in the middle of the gap before each fret, NaN where a gap
    shows too little. under_mm, u_under_mm: under the fret, from both gaps beside it. slope:
    of the board along x at the fret, mm/mm."""

    z_mm: FloatArray
    u_mm: FloatArray
    under_mm: FloatArray
    u_under_mm: FloatArray
    slope: FloatArray


def read_board(profiles: Sequence[Profile], fret_mm: FloatArray, ball_mm: float) -> Board:
    """The wood, without dirt, inlays and slots. fret_mm: [passes, frets], along the carriage.

    A parabola is laid robustly through each gap, then one about each fret through what both
    gaps beside it kept. A patch over less than about half of what can be read of a gap is left
    out, or two thirds where wood shows at both its ends; a larger one is taken for the board.
    Heights are the tip's: higher than the wood by its lift on the slope across.
    """
    blocks = gap_blocks(profiles, fret_mm, ball_mm)
    seen = np.count_nonzero(blocks.count, axis=2) > 0
    z, u = np.full((2, *seen.shape), np.nan)
    if not seen.any():
        return Board(z, u, z.copy(), u.copy(), z.copy())
    gaps = _through_gaps(blocks, seen)
    z[seen], u[seen] = gaps.at(np.zeros(gaps.coefficients.shape[0]))
    under = _under(blocks, gaps, seen, fret_mm)
    return _with_bridges(blocks.middle_mm, fret_mm, Board(z, u, *under))


def _through_gaps(blocks: Blocks, seen: NDArray[np.bool_]) -> Parabolas:
    """One parabola for each gap seen."""
    half = blocks.half_mm[seen]
    rows = Rows(
        blocks.t_mm[seen] / half[:, None],
        blocks.z_mm[seen],
        np.where(blocks.count[seen] > 0, 1.0, 0.0),
        0.5 * BEND_PER_MM * half**2,
        2.0 * half / BLOCKS,
    )
    return reweighted(rows, first_offsets(rows), ROUNDS)


def _under(
    blocks: Blocks, gaps: Parabolas, seen: NDArray[np.bool_], fret_mm: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """(height, u, slope) at each fret, [passes, frets]; NaN where too little is near."""
    off, trust = np.zeros((2, *blocks.z_mm.shape))
    off[seen], trust[seen] = gaps.off_mm, gaps.trust
    s = (_beside(blocks.middle_mm[:, :, None] + blocks.t_mm) - fret_mm[:, :, None]) / NEAR_MM
    weight = np.maximum(1.0 - np.abs(s) ** 3, 0.0) ** 3 * _beside(trust)
    known = np.count_nonzero(weight > 0, axis=2) >= FEWEST_NEAR
    count = np.count_nonzero(known)
    bend = np.full(count, 0.5 * BEND_PER_MM * NEAR_MM**2)
    width = 2.0 * blocks.half_mm[known] / BLOCKS
    rows = Rows(s[known], _beside(blocks.z_mm)[known], weight[known], bend, width)
    near = reweighted(rows, _beside(off)[known], NEAR_ROUNDS, gaps.grain_mm)
    height, u, slope = np.full((3, *known.shape), np.nan)
    height[known], u_fit = near.at(np.zeros(count))
    u[known] = np.hypot(u_fit, 0.5 * BEND_PER_MM * _unseen_mm(rows) ** 2)
    slope[known] = near.slope_at(np.zeros(count)) / NEAR_MM
    return height, u, slope


def _beside(of_gaps: FloatArray) -> FloatArray:
    """[passes, frets, 2 BLOCKS]: the gaps on both sides of each fret; after the last is none."""
    after = np.concatenate([of_gaps[:, 1:], np.zeros_like(of_gaps[:, :1])], axis=1)
    return np.concatenate([of_gaps, after], axis=2)


def _unseen_mm(rows: Rows) -> FloatArray:
    """How far from the fret to the nearest reading on the side where that is further; with one
    side alone, twice that: going on from one side is as far as crossing from side to side."""
    far = np.where(rows.weight > 0, np.abs(rows.s), np.inf)
    half = far.shape[1] // 2
    left, right = np.min(far[:, :half], axis=1), np.min(far[:, half:], axis=1)
    return np.asarray(NEAR_MM * np.minimum(np.maximum(left, right), 2.0 * np.minimum(left, right)))


def _with_bridges(middle_mm: FloatArray, fret_mm: FloatArray, board: Board) -> Board:
    """Where no reading is near a fret: straight from gap to gap, and on past the last."""
    for k in np.flatnonzero(np.isnan(board.under_mm).any(axis=1)):
        read = np.isfinite(board.z_mm[k])
        if np.count_nonzero(read) < FEWEST_GAPS:
            continue
        lost = np.isnan(board.under_mm[k])
        x, z, at = middle_mm[k, read], board.z_mm[k, read], fret_mm[k, lost]
        slope, beyond = np.polyfit(x[-FEWEST_GAPS:], z[-FEWEST_GAPS:], 1)[0], at - x[-1]
        board.under_mm[k, lost] = np.interp(at, x, z) + slope * np.maximum(beyond, 0.0)
        away = np.min(np.abs(at[:, None] - x), axis=1)
        spread = np.median(board.u_mm[k, read]) * (1.0 + away / np.median(np.diff(x)))
        board.u_under_mm[k, lost] = np.hypot(spread, 0.5 * BEND_PER_MM * away**2)
        board.slope[k, lost] = np.interp(at, x, np.gradient(z, x))
    return board
