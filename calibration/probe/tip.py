"""The ball at the end of the plunger, from passes over a pin of known size or a sharp edge."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import minimize_scalar
from scipy.special import chdtrc

from calibration.passes import FloatArray
from calibration.probe.cap import Cap, ProbeError
from calibration.probe.capfit import CapFit, fit_caps, together
from calibration.probe.check import check_shape
from calibration.probe.erosion import erode
from calibration.probe.trace import SHARE, Touched, worn_trace

#: How far under the top, in shares of that radius, the first middle is looked for.
CHORD_SHARE = 0.15
#: A flat is worn on the tip where it is seen beyond chance and as wide as this.
WORN_MM, WORN_CHANCE = 0.15, 1e-4
#: The widest flat looked for, as a share of the tip's diameter: what is left beside it still
#: tells the radius.
_WIDEST = 0.4
#: A pin thinner than twice this leaves too little to look at; and how closely it is looked at.
LEAST_PIN_MM, GRID_MM = 0.25, 0.02
_BOUNDS = (0.02, 60.0)


@dataclass(frozen=True, slots=True)
class Scales:
    """Standard uncertainties of the two scales the circle is drawn in, as shares: how far the
    carriage goes (with how squarely the pin lies across), and how high the sensor reads."""

    along: float
    up: float


@dataclass(frozen=True, slots=True)
class TipFound:
    """radius_mm, u_mm: the ball. flat_mm: worn on to it, 0 where none is seen. passes: how many
    it is from. spread_um: of the readings about the circle. left_um: rms by which what is left of
    the trace, the ball taken off it, is not the pin; NaN for an edge, of which nothing is left."""

    radius_mm: float
    u_mm: float
    flat_mm: float
    passes: int
    spread_um: float
    left_um: float


def fit_tip(caps: Sequence[Cap], over: Touched, nominal_mm: float, scales: Scales) -> TipFound:
    """The ball's radius from its traces over something round.

    The centre of a ball of radius r runs over a round of radius R on a circle of R + r: each
    pass gives that circle, with a place and a height of its own, so neither lag nor backlash nor
    drift counts. An error of scale along the rail counts twice, one of height once.

    Raises ProbeError, naming it, where the ball left the surface, the plunger stuck, or what was
    touched is not round.
    """
    caps, fits = _fitted(caps, over, nominal_mm)
    flat, fits = _worn(caps, fits, over)
    check_shape(caps, fits, over)
    radius, u_fit = together(fits)
    if radius <= 2.0 * _BOUNDS[0]:
        raise ProbeError(f"the trace is no wider than {over.words} alone: was it that pin?")
    outer = radius + over.radius_mm
    u = np.sqrt(
        u_fit**2 + over.u_mm**2 + (2.0 * outer * scales.along) ** 2 + (outer * scales.up) ** 2
    )
    spread = 1e3 * float(np.median([1.4826 * np.nanmedian(np.abs(fit.left_mm)) for fit in fits]))
    left = 1e3 * _left_mm(_laid_together(caps, fits), radius, over)
    return TipFound(radius, float(u), flat, len(fits), spread, left)


def _left_mm(whole: Cap, radius_mm: float, over: Touched) -> float:
    """How far the eroded trace is from the pin itself, by shape alone: the fit knows nothing of
    erosion, nor erosion of circles."""
    if over.radius_mm < LEAST_PIN_MM:
        return float("nan")
    edges = np.arange(whole.x_mm.min(), whole.x_mm.max(), GRID_MM)
    place = np.digitize(whole.x_mm, edges) - 1
    count = np.bincount(place, minlength=edges.size)
    sums = np.bincount(place, whole.z_mm, minlength=edges.size)
    trace = np.divide(sums, count, out=np.full(edges.size, np.nan), where=count > 0)
    x_mm = edges + 0.5 * GRID_MM
    near = np.abs(x_mm) < 0.45 * over.radius_mm
    round_mm = np.sqrt(over.radius_mm**2 - np.where(near, x_mm, 0.0) ** 2) - over.radius_mm
    off = (erode(x_mm, trace, radius_mm).z_mm - round_mm)[near]
    return float(np.nanstd(off))


def _fit(cap: Cap, over: Touched, flat_mm: float, start_mm: float) -> CapFit:
    """One value: the ball's radius, with a flat of this width on it."""

    def shape(u: FloatArray, values: FloatArray) -> FloatArray:
        return worn_trace(u, float(values[0]), min(flat_mm, 1.9 * values[0]), over.radius_mm)

    least = max(_BOUNDS[0], 1.15 * flat_mm)
    start = np.array([max(start_mm, 1.2 * least)])
    return fit_caps([cap], shape, start, ([least], [_BOUNDS[1]]))


def _fitted(caps: Sequence[Cap], over: Touched, radius_mm: float) -> tuple[list[Cap], list[CapFit]]:
    """Three times, each as wide and about the middle as the one before found it; the first about
    the middle of the chord a little under the top, for the highest reading may lie on a flat."""
    deep = CHORD_SHARE * (radius_mm + over.radius_mm)
    middles = [float(np.median(cap.x_mm[cap.z_mm > -deep])) for cap in caps]
    for _ in range(3):
        wide = SHARE * (radius_mm + over.radius_mm)
        chosen = [cap.within(wide, middle) for cap, middle in zip(caps, middles, strict=True)]
        fits = [_fit(cap, over, 0.0, radius_mm) for cap in chosen]
        radius_mm = float(np.median([fit.values[0] for fit in fits]))
        middles = [float(fit.middle_mm[0]) for fit in fits]
    return chosen, fits


def _worn(caps: Sequence[Cap], fits: list[CapFit], over: Touched) -> tuple[float, list[CapFit]]:
    """A flat that all passes together show beyond chance, and the fits with it; else the fits
    without."""
    radius = float(np.median([fit.values[0] for fit in fits]))
    whole = _laid_together(caps, fits)

    def cost(flat_mm: float) -> float:
        return _fit(whole, over, flat_mm, radius).cost

    found = minimize_scalar(
        cost, bounds=(0.0, 2.0 * radius * _WIDEST), method="bounded", options={"xatol": 0.005}
    )
    flat, gain = float(found.x), cost(0.0) - float(found.fun)
    if flat < WORN_MM or chdtrc(1.0, max(gain, 0.0)) > WORN_CHANCE:
        return 0.0, fits
    return flat, [_fit(cap, over, flat, radius) for cap in caps]


def _laid_together(caps: Sequence[Cap], fits: Sequence[CapFit]) -> Cap:
    """All passes as one, each about its own middle and top: both ways even out what lags."""
    x = [cap.x_mm - fit.middle_mm[0] for cap, fit in zip(caps, fits, strict=True)]
    z = [cap.z_mm - fit.top_mm[0] for cap, fit in zip(caps, fits, strict=True)]
    return replace(caps[0], x_mm=np.concatenate(x), z_mm=np.concatenate(z))
