"""Sensor lag and carriage backlash, from passes both ways at two speeds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from calibration.passes import FloatArray
from calibration.profile import Profile

#: Grid on which two passes are matched; finer than any sample spacing worth having.
GRID_MM = 0.02
#: Widest shift looked for.
WIDEST_MM = 2.0
#: Steeper flanks than this are edges the ball falls off, not shapes it rides over.
STEEPEST = 0.8
#: Length over which a slope is taken.
SLOPE_MM = 0.3
#: Slope energy of one good crown, about: less than this is no shape.
LEAST_ENERGY_MM = 0.05


class LagError(ValueError):
    """The passes do not determine lag and backlash."""


@dataclass(frozen=True, slots=True)
class Lag:
    """Latency of the reading and backlash of the carriage, with standard uncertainties.

    A surface at x is read where the count says x + direction (v lag + backlash / 2).
    """

    lag_s: float
    u_lag_s: float
    backlash_mm: float
    u_backlash_mm: float

    def contact_x_mm(self, t_s: FloatArray, x_mm: FloatArray, direction: int) -> FloatArray:
        """Where the tip was when the reading arose: the count one lag ago, less backlash.

        t_s, x_mm: float[n] in time order. Uses the counts themselves, so that starting and
        stopping are right too.
        """
        then = np.interp(t_s - self.lag_s, t_s, x_mm)
        return np.asarray(then - direction * self.backlash_mm / 2.0)


def match_shift(forward: Profile, backward: Profile) -> tuple[float, float]:
    """How far the forward pass stands to the right of the backward one, mm, and its u.

    Coarse: the best correlation of slopes. Fine: Gauss-Newton on whole profiles with Tukey
    weights, so neither spikes nor one odd crown decide. Slopes are taken over SLOPE_MM, or
    noise would pass for shape. Raises LagError where nothing on the rig has a shape to match.
    """
    low = max(forward.x_mm[0], backward.x_mm[0])
    high = min(forward.x_mm[-1], backward.x_mm[-1])
    if high - low < 20.0:
        raise LagError("the passes overlap by less than 20 mm")
    x = np.arange(low + WIDEST_MM, high - WIDEST_MM, GRID_MM)
    right, left = _resample(forward, x), _resample(backward, x)
    shift = _coarse_shift(right, left)
    u = np.inf
    for _ in range(12):
        moved = _resample(backward, x - shift)
        slope = _slope(moved)
        off = right - moved - np.median(right - moved)
        fair = np.abs(slope) < STEEPEST
        spread = max(1.4826 * float(np.median(np.abs(off[fair]))), 1e-5)
        bounded = np.clip(off / (4.685 * max(spread, 2e-3)), -1.0, 1.0)
        weight = np.where(fair, (1.0 - bounded**2) ** 2, 0.0)
        information = float(np.sum(weight * slope**2))
        _check_shape(information * GRID_MM, spread, x.size * GRID_MM)
        step = -float(np.sum(weight * slope * off)) / information
        shift += step
        # the grid is finer than the readings: count the readings, not the grid
        spacing = float(np.median(np.diff(forward.x_mm))) / GRID_MM
        u = spread * float(np.sqrt(max(spacing, 1.0) / information))
        if abs(step) < 1e-6:
            break
    return shift, u


def _check_shape(energy_mm: float, spread: float, length_mm: float) -> None:
    """Slope energy (integral of slope squared) well over what noise and grain make of a line."""
    from_noise = (spread / SLOPE_MM) ** 2 * length_mm
    if energy_mm < LEAST_ENERGY_MM + 4.0 * from_noise:
        raise LagError("what stands on the rig is too even to match; put a neck or an edge on it")


def _resample(profile: Profile, x_mm: FloatArray) -> FloatArray:
    return np.asarray(np.interp(x_mm, profile.x_mm[profile.ok], profile.z_mm[profile.ok]))


def _slope(z_mm: FloatArray) -> FloatArray:
    """Rise over SLOPE_MM at every grid point."""
    reach = max(1, round(SLOPE_MM / GRID_MM / 2))
    padded = np.pad(z_mm, reach, mode="edge")
    return np.asarray((padded[2 * reach :] - padded[: -2 * reach]) / (2 * reach * GRID_MM))


def _coarse_shift(right: FloatArray, left: FloatArray) -> float:
    """Shift of `right` against `left` by the correlation of their bounded slopes."""
    a, b = (np.clip(_slope(z), -STEEPEST, STEEPEST) for z in (right, left))
    size = 2 ** int(np.ceil(np.log2(2 * a.size)))
    spectrum = np.fft.rfft(a - a.mean(), size) * np.conj(np.fft.rfft(b - b.mean(), size))
    correlation = np.fft.irfft(spectrum, size)
    widest = int(WIDEST_MM / GRID_MM)
    lags = np.concatenate([np.arange(widest + 1), np.arange(-widest, 0)])
    return float(lags[np.argmax(correlation[lags])]) * GRID_MM


def fit_lag(pairs: Sequence[tuple[float, float, float]]) -> Lag:
    """Lag and backlash from shifts: shift = 2 v lag + backlash, weighted least squares.

    pairs: (speed mm/s, shift mm, u mm) of passes both ways. Raises LagError unless two speeds
    differ by a fifth or more. Where the pairs scatter more than their uncertainties say, the
    stated uncertainty grows with them.
    """
    v, shift, u = np.array(pairs, dtype=float).reshape(-1, 3).T
    if v.size < 2 or v.max() < 1.2 * v.min():
        raise LagError(
            "lag and backlash need passes both ways at two speeds, a fifth apart or more"
        )
    design = np.column_stack([2.0 * v, np.ones_like(v)]) / u[:, None]
    covariance = np.linalg.inv(design.T @ design)
    lag, backlash = covariance @ design.T @ (shift / u)
    off = (shift - 2.0 * v * lag - backlash) / u
    grown = max(1.0, float(off @ off) / max(v.size - 2, 1))
    u_lag, u_backlash = np.sqrt(np.diag(covariance) * grown)
    return Lag(float(lag), float(u_lag), float(backlash), float(u_backlash))
