"""What rounding to whole counts does to a pass as a whole."""

from __future__ import annotations

import numpy as np

from calibration.passes import FloatArray

#: Stretches over which a carriage's speed is looked at, and how even it must be to count as one.
_STRETCH, _EVEN = 64, 0.01
_HARMONICS = np.arange(1, 65)


def rounding_counts(step_counts: float, readings: int) -> float:
    """Standard deviation of the mean rounding error over a pass, in counts.

    step_counts: travel from one reading to the next; readings: how many. The rounding error is
    a sawtooth of the place, sum over r of sin(2 pi r x) / (pi r); over even steps s its r-th
    harmonic averages to sin(pi r s n) / (n sin(pi r s)), which stays 1 where r s is whole. So a
    step of a whole number of counts leaves 0.29 counts, a half 0.14, an untidy one nothing. The
    step is known to half a count over the pass, and taken as untidy as it surely is.
    """
    away = np.abs(_HARMONICS * step_counts - np.rint(_HARMONICS * step_counts))
    away = np.maximum(away - 0.5 * _HARMONICS / readings, 0.0)
    left = 1.0 / (1.0 + (np.pi * readings * away) ** 2)
    return float(np.sqrt(np.sum(left / (2.0 * np.pi**2 * _HARMONICS**2))))


def rounding_mm(t_s: FloatArray, x_mm: FloatArray, count_mm: float) -> float:
    """Standard uncertainty of a whole pass's place from rounding, mm.

    t_s, x_mm: float[n], in time order, as counted. Only the stretches driven at the pass's
    typical speed count; where a hand keeps none, that is the one nearest to it.
    """
    rows = x_mm.size // _STRETCH
    if rows == 0:
        return count_mm / float(np.sqrt(12.0))
    went = np.abs(np.diff(x_mm[: rows * _STRETCH + 1 : _STRETCH]))
    took = np.diff(t_s[: rows * _STRETCH + 1 : _STRETCH])
    moving = went > 0.0
    if not moving.any():
        return count_mm / float(np.sqrt(12.0))
    speed = went / took
    typical = float(np.median(speed[moving]))
    off = np.abs(speed - typical)
    even = (off <= _EVEN * typical + count_mm / took) | (off == np.min(off))
    step_mm = float(np.sum(went[even]) / np.sum(took[even])) * float(np.median(np.diff(t_s)))
    return count_mm * rounding_counts(step_mm / count_mm, _STRETCH * int(np.count_nonzero(even)))


def scatter_mm(x_mm: FloatArray) -> float:
    """Standard deviation of one count's rounding, from neighbours of even speed, mm.

    x_mm: float[n] in time or place order. The median over stretches, so that gaps, starting and
    stopping do not count; 0 where every step is the same.
    """
    rows = (x_mm.size - 1) // _STRETCH
    if rows == 0:
        return 0.0
    steps = np.diff(x_mm)[: rows * _STRETCH].reshape(rows, _STRETCH)
    return float(np.median(np.std(steps, axis=1))) / float(np.sqrt(2.0))
