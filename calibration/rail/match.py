"""How far apart two scans of one object stand on the rail, by the correlation of their slopes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.ndimage import median_filter

from calibration.passes import FloatArray, Pad
from calibration.profile import Profile
from calibration.rail.cells import off_pads
from calibration.rail.map import RailError

#: Grid on which scans are laid over one another.
GRID_MM = 0.1
#: Steeper than this is an edge the ball falls off.
STEEPEST = 0.8
#: Slopes of one object correlate at least so well, of two different ones they do not.
LEAST_CORRELATION = 0.75
#: Another place this far off or further is another place.
ELSEWHERE_MM = 3.0
#: Correlations nearer to each other than this cannot be told apart.
TIE = 0.05
#: Two placements must share this share of the shorter scan.
LEAST_SHARED = 0.5
#: Readings of a running median: a wild one must not pass for a slope.
CALM = 5


def match_offsets(
    placements: Sequence[Sequence[Profile]], pads: Sequence[Pad]
) -> tuple[float, ...]:
    """How far each placement stands to the right of the first, mm, to about the grid.

    Raises RailError where two placements do not look like one object, or it is too even to
    tell where it stands (then the offsets must be given).
    """
    slopes = [_slope_over_grid(profiles, pads) for profiles in placements]
    return tuple(_shift(slopes[0], one, k + 1) for k, one in enumerate(slopes))


def _slope_over_grid(profiles: Sequence[Profile], pads: Sequence[Pad]) -> tuple[float, FloatArray]:
    """Where the grid starts and the mean bounded slope on it; 0 where there is no reading."""
    clear = [p.ok & off_pads(p.x_mm, pads) for p in profiles]
    x = np.concatenate([p.x_mm[ok] for p, ok in zip(profiles, clear, strict=True)])
    if x.size == 0:
        raise RailError("a placement has no readings between the pads")
    start = float(np.floor(x.min() / GRID_MM) * GRID_MM)
    grid = np.arange(start, x.max(), GRID_MM)
    mean = np.zeros(grid.size)
    for p, ok in zip(profiles, clear, strict=True):
        mean += np.interp(grid, p.x_mm[ok], median_filter(p.z_mm[ok], CALM)) / len(profiles)
    slope = np.gradient(mean, GRID_MM)
    # edges and holes have no slope of their own
    return start, np.where(np.abs(slope) < STEEPEST, slope, 0.0)


def _shift(first: tuple[float, FloatArray], other: tuple[float, FloatArray], number: int) -> float:
    """Shift with the best correlation over what both see."""
    a, b = first[1], other[1]
    size = 2 ** int(np.ceil(np.log2(a.size + b.size)))
    cross = _correlated(b, a, size)
    energy = np.sqrt(
        np.clip(
            _correlated(np.ones_like(b), a**2, size) * _correlated(b**2, np.ones_like(a), size),
            1e-12,
            None,
        )
    )
    shared = _correlated(np.ones_like(b), np.ones_like(a), size)
    enough = shared > LEAST_SHARED * min(a.size, b.size)
    quality = np.where(enough, cross / energy, -1.0)
    best = int(np.argmax(quality))
    if quality[best] < LEAST_CORRELATION:
        raise RailError(
            f"placement {number} and placement 1 do not look like one object (their slopes "
            f"correlate by {quality[best]:.2f}, at least {LEAST_CORRELATION} is needed); scan one "
            "object with a shape at every offset, or give the offsets"
        )
    lag = best if best < b.size else best - size
    _check_only_one(quality, best, number)
    left, right = quality[best - 1], quality[(best + 1) % size]
    bend = 2.0 * quality[best] - left - right
    fine = 0.5 * (right - left) / bend if bend > 0.0 else 0.0
    return float(other[0] - first[0] + (lag + fine) * GRID_MM)


def _check_only_one(quality: FloatArray, best: int, number: int) -> None:
    """Nowhere else may the object fit nearly as well: a fret pattern never does."""
    away = np.abs((np.arange(quality.size) - best + quality.size // 2) % quality.size)
    elsewhere = np.abs(away - quality.size // 2) * GRID_MM > ELSEWHERE_MM
    second = float(np.max(quality[elsewhere], initial=0.0))
    if 1.0 - second < 2.0 * (1.0 - quality[best]) + TIE:
        raise RailError(
            f"placement {number} could stand in more than one place: its shape repeats itself "
            "(slopes correlate there too, by "
            f"{second:.2f}); give the offsets"
        )


def _correlated(b: FloatArray, a: FloatArray, size: int) -> FloatArray:
    """sum over i of b[i + lag] a[i], at lag 0, 1, ... and negative lags from the end."""
    spectrum = np.fft.rfft(b, size) * np.conj(np.fft.rfft(a, size))
    return np.fft.irfft(spectrum, size)
