"""The board between the frets."""

from __future__ import annotations

import numpy as np
from scipy.interpolate import CubicSpline

from analysis.instrument import FloatArray
from analysis.pattern.register import Registration
from calibration.profile import Profile

#: Nearer to a fret than this the board is not read: solder, glue, and a small ball's touch.
FOOT_MM = 3.0
#: Half a wide fret's width and a tall fret's height: how far off a large ball touches it.
HALF_WIDTH_MM, TALLEST_MM = 1.5, 1.2
#: A gap is read over at most this far to each side of its middle.
REACH_MM = 6.0
#: Board is wood: dirt, grain and lacquer spread it by about this (common practice, no source).
GRAIN_MM = 0.002


def gap_middles_mm(fret_x_mm: FloatArray) -> FloatArray:
    """float[frets]: middles of the gaps before fret 1, between the frets (none after the last)."""
    before = np.concatenate([[0.0], fret_x_mm[:-1]])
    return 0.5 * (before + fret_x_mm)


def board_z_mm(
    profile: Profile, registration: Registration, fret_x_mm: FloatArray, ball_mm: float
) -> tuple[FloatArray, FloatArray]:
    """Board height in the middle of each gap and its standard uncertainty, mm.

    A line through the readings of the gap, robustly (twice, the second time without those more
    than 3 robust deviations off), taken at the gap's middle. NaN where a gap shows fewer than
    8 readings.
    """
    foot = max(FOOT_MM, _touches_mm(ball_mm))
    middles = registration.carriage_mm(gap_middles_mm(fret_x_mm))
    frets = registration.carriage_mm(np.concatenate([[0.0], fret_x_mm]))
    x, z = profile.x_mm[profile.ok], profile.z_mm[profile.ok]
    low = np.maximum(frets[:-1] + foot, middles - REACH_MM)
    high = np.minimum(frets[1:] - foot, middles + REACH_MM)
    first, last = np.searchsorted(x, low), np.searchsorted(x, high)
    values = [_line_at(x[a:b] - m, z[a:b]) for a, b, m in zip(first, last, middles, strict=True)]
    z_mm, u_mm = np.array(values).T
    return z_mm, u_mm


def _touches_mm(ball_mm: float) -> float:
    """How far from a fret's middle a ball on the board still touches the fret's side: beside a
    wall of height h a ball of radius r stands sqrt(h (2 r - h)) off, and r where h is over r."""
    height = min(TALLEST_MM, ball_mm)
    return HALF_WIDTH_MM + float(np.sqrt(height * (2.0 * ball_mm - height)))


def _line_at(x: FloatArray, z: FloatArray) -> tuple[float, float]:
    """Height at x = 0 of a robust line, and its u (scatter, and what wood adds)."""
    if x.size < 8:
        return np.nan, np.nan
    keep = np.ones(x.size, dtype=bool)
    fit = np.array([0.0, np.median(z)])
    for _ in range(2):
        off = z - np.polyval(fit, x)
        spread = 1.4826 * float(np.median(np.abs(off - np.median(off))))
        keep = np.abs(off - np.median(off)) <= max(3.0 * spread, 1e-4)
        fit = np.polyfit(x[keep], z[keep], 1)
    scatter = float(np.std(z[keep] - np.polyval(fit, x[keep])))
    return float(fit[1]), float(np.hypot(scatter / np.sqrt(keep.sum()), GRAIN_MM))


def board_at_frets_mm(fret_x_mm: FloatArray, board_mm: FloatArray) -> FloatArray:
    """Board height under each fret, through the gaps on both sides.

    A cubic through the gap middles: the bow between two gaps is worth some micrometres and a
    straight line would lose it. Past the last gap it goes on straight.
    """
    middles = gap_middles_mm(fret_x_mm)
    good = np.isfinite(board_mm)
    if np.count_nonzero(good) < 4:
        return np.full_like(fret_x_mm, np.nan)
    x, z = middles[good], board_mm[good]
    inside = CubicSpline(x, z)(np.clip(fret_x_mm, x[0], x[-1]))
    slope = np.polyfit(x[-3:], z[-3:], 1)[0]
    return np.asarray(inside + slope * np.clip(fret_x_mm - x[-1], 0.0, None))
