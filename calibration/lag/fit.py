"""Lag and backlash together, from all passes both ways at two or more speeds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.ndimage import uniform_filter1d
from scipy.special import chdtri

from calibration.lag.lag import Lag
from calibration.lag.layover import LaidOver, Readings, lay_over
from calibration.lag.rounding import rounding_mm, scatter_mm
from calibration.lag.shift import LEAST_OVERLAP_MM, LagError, check_shape, coarse_shift, telling
from calibration.passes import FloatArray, RawPass
from calibration.spikes import noise_mm, spike_flags

#: Two speeds tell lag from backlash only this far apart.
LEAST_RATIO = 1.2
#: A backlash that varies is taken for real where chance would show as much once in so many.
UNLIKELY = 0.01
#: Counts over which a speed is taken: long enough to average their rounding.
_SPEED_READINGS = 17


@dataclass(frozen=True, slots=True)
class LagFit:
    """What the passes say.

    lag: with the backlash's slope only where it is `varies`; slope_per_mm and u_slope_per_mm
    tell what was found either way. apart_um: rms of what the passes still stand apart along the
    travel once corrected. height_um: rms of their readings about the common surface.
    rounding_um: the part of u_backlash that comes from counts rounded alike all along a pass.
    """

    lag: Lag
    varies: bool
    slope_per_mm: float
    u_slope_per_mm: float
    apart_um: float
    height_um: float
    rounding_um: float


@dataclass(frozen=True, slots=True)
class _Told:
    """A pass as the fit takes it, in time order: valid readings that were no spikes."""

    t_s: FloatArray
    x_mm: FloatArray
    z_mm: FloatArray
    speed_mm_s: FloatArray
    direction: int
    rounding_mm: float

    @property
    def typical_mm_s(self) -> float:
        return float(np.median(self.speed_mm_s))

    def rising(self) -> tuple[FloatArray, FloatArray]:
        """(x, z) in the order of x."""
        order = np.argsort(self.x_mm, kind="stable")
        return self.x_mm[order], self.z_mm[order]


def fit_lag(passes: Sequence[RawPass], count_mm: float, quantum_mm: float) -> LagFit:
    """Lag, backlash and how it varies: all passes laid over one surface (`layover.lay_over`).

    passes: over one line, both ways, at speeds a fifth apart or more, as they were driven: the
    speeds are taken from the counts. count_mm, quantum_mm: one count of the carriage and of the
    sensor. The backlash is b0 + b1 (x - middle); b1 is kept where a chi-square test at 1 %
    finds it, and taken for 0 otherwise. Raises LagError where the passes cannot tell.
    """
    told = [_told(one, count_mm, quantum_mm) for one in passes]
    _check_ways(told)
    middle = _middle_mm(told)
    start = _start(told)
    rounding = np.array([one.rounding_mm for one in told])
    doubt = max(scatter_mm(one.x_mm) for one in told)
    laid = lay_over(telling(_readings(told, start, middle)), doubt, rounding)
    check_shape(laid)
    found = np.array([start.lag_s, start.backlash_mm, 0.0]) + laid.unknowns
    return _fit(found, laid, middle, float(np.linalg.norm(laid.pull[1] * rounding)))


def _told(one: RawPass, count_mm: float, quantum_mm: float) -> _Told:
    counted = np.isfinite(one.x_mm) & np.isfinite(one.t_s)
    t, x, z = one.t_s[counted], one.x_mm[counted], one.z_mm[counted]
    ok = ~spike_flags(z, noise_mm(z, quantum_mm))
    if np.count_nonzero(ok) < 2 * _SPEED_READINGS or not (np.diff(t) > 0).all():
        raise LagError("a pass has no valid reading at all; is the surface in the sensor's range?")
    smooth_x, smooth_t = (uniform_filter1d(a, _SPEED_READINGS, mode="nearest") for a in (x, t))
    speed = np.abs(np.gradient(smooth_x) / np.maximum(np.gradient(smooth_t), 1e-9))
    return _Told(t[ok], x[ok], z[ok], speed[ok], one.direction, rounding_mm(t, x, count_mm))


def _check_ways(told: Sequence[_Told]) -> None:
    """Both ways; two speeds one way at least; all over the same stretch."""
    speeds = {way: [o.typical_mm_s for o in told if o.direction == way] for way in (1, -1)}
    if not (speeds[1] and speeds[-1]):
        raise LagError("lag and backlash need passes both ways")
    if all(max(v) < LEAST_RATIO * min(v) for v in speeds.values()):
        seen = ", ".join(f"{v:.1f}" for v in sorted({round(o.typical_mm_s, 1) for o in told}))
        raise LagError(
            "lag and backlash need passes both ways at two speeds, a fifth apart or more; the "
            f"carriage went at {seen} mm/s"
        )
    if _common(told)[1] - _common(told)[0] < LEAST_OVERLAP_MM:
        raise LagError(f"the passes overlap by less than {LEAST_OVERLAP_MM:.0f} mm")


def _common(told: Sequence[_Told]) -> tuple[float, float]:
    return max(float(o.x_mm.min()) for o in told), min(float(o.x_mm.max()) for o in told)


def _middle_mm(told: Sequence[_Told]) -> float:
    return float(np.round(np.mean(_common(told))))


def _start(told: Sequence[_Told]) -> Lag:
    """From each pass's shift against the first, by correlation: right within a grid step or so."""
    first = told[0].rising()
    shift = np.array([coarse_shift(one.rising(), first) for one in told])
    way = np.array([one.direction for one in told], dtype=float)
    speed = np.array([one.typical_mm_s for one in told])
    design = np.column_stack([way * speed, 0.5 * way, np.ones_like(way)])
    lag, backlash, _ = np.linalg.lstsq(design, shift, rcond=None)[0]
    return Lag(float(lag), 0.0, float(backlash), 0.0)


def _readings(told: Sequence[_Told], start: Lag, middle_mm: float) -> Readings:
    parts = []
    for number, one in enumerate(told):
        x = start.contact_x_mm(one.t_s, one.x_mm, one.direction)
        half = np.full(x.size, 0.5)
        # of the moment the reading arose: rounding in places and speeds must not go together
        speed = np.interp(one.t_s - start.lag_s, one.t_s, one.speed_mm_s)
        moves = one.direction * np.column_stack([speed, half, half * (x - middle_mm)])
        parts.append((x, one.z_mm, moves, np.full(x.size, number)))
    return Readings(*(np.concatenate(part) for part in zip(*parts, strict=True)))


def _fit(found: FloatArray, laid: LaidOver, middle: float, rounded_mm: float) -> LagFit:
    covariance = laid.covariance
    slope, variance = float(found[2]), float(covariance[2, 2])
    varies = slope**2 > variance * float(chdtri(1, UNLIKELY))
    u_slope = float(np.sqrt(variance))
    if not varies:
        # what is left when the slope is known to be 0: the conditional mean and covariance
        along = covariance[:, 2] / variance
        found = found - along * slope
        covariance = covariance - np.outer(along, covariance[2])
    u = np.sqrt(np.maximum(np.diag(covariance), 0.0))
    lag = Lag(
        lag_s=float(found[0]),
        u_lag_s=float(u[0]),
        backlash_mm=float(found[1]),
        u_backlash_mm=float(u[1]),
        backlash_per_mm=float(found[2]) if varies else 0.0,
        u_backlash_per_mm=u_slope if varies else 0.0,
        middle_mm=middle,
        correlation=float(covariance[0, 1] / (u[0] * u[1])),
    )
    return LagFit(
        lag,
        varies,
        slope,
        u_slope,
        apart_um=1e3 * float(np.sqrt(np.mean(laid.apart_mm**2))),
        height_um=1e3 * laid.height_mm,
        rounding_um=1e3 * rounded_mm,
    )
