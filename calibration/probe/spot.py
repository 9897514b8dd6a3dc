"""An optical sensor's spot, from passes over a sharp edge."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.ndimage import median_filter
from scipy.optimize import minimize_scalar

from calibration.passes import FloatArray
from calibration.probe.cap import Cap, ProbeError
from calibration.probe.capfit import CapFit, fit_caps

#: The edge is looked at down to this share of its height over what lies beside it.
DEEP_SHARE = 0.6
DEEPEST_MM = 2.0
#: Beyond this share of half the stretch seen, too little of the flanks is left beside the spot.
WIDEST_SHARE = 1.2
ROUGH, ROUGH_MM = 4.0, 0.02
_BOUNDS = ([1e-3, 1e-3], [1e3, 1e3])
#: Widths tried at once, and how closely the likeliest is looked for.
_TRIED, _CLOSE_MM = 11, 2e-4
_NARROWEST_MM = 1e-6


@dataclass(frozen=True, slots=True)
class SpotFound:
    """width_mm, u_mm: of a spot that is bright all over alike along the travel. passes: how many
    it is from. spread_um: of the readings about the rounded edge."""

    width_mm: float
    u_mm: float
    passes: int
    spread_um: float


def rounded_roof(u_mm: FloatArray, width_mm: float, left: float, right: float) -> FloatArray:
    """Mean over a spot of this width of a roof with its ridge at 0, that falls by left and right
    (mm a mm) to its two sides.

    Where the spot reaches over the ridge it sees both sides, (1/s) integral of the roof over
    u - s/2 to u + s/2; elsewhere the flank itself. Heights count from what it sees at the ridge,
    (left + right) s / 8 under the ridge.
    """
    ahead = np.clip(u_mm + 0.5 * width_mm, 0.0, width_mm)
    behind = width_mm - ahead
    rounded = -(right * ahead**2 + left * behind**2) / (2.0 * width_mm)
    outside = np.where(u_mm > 0.0, -right * u_mm, left * u_mm)
    roof = np.where(np.abs(u_mm) < 0.5 * width_mm, rounded, outside)
    return np.asarray(roof + (left + right) * width_mm / 8.0)


def fit_spot(caps: Sequence[Cap], u_edge_mm: float, along: float) -> SpotFound:
    """The spot's width from how it rounds an edge off: the crest lies slope x width / 4 under
    where the flanks meet.

    u_edge_mm: how round the edge may itself be, for that looks like a wider spot: a radius takes
    radius (sqrt(1 + slope^2) - 1) off the crest. along: standard uncertainty of the carriage's
    scale, as a share. Raises ProbeError where the trace is no rounded edge.
    """
    caps = [_flanks(cap) for cap in caps]
    half = 0.5 * float(np.median([np.ptp(cap.x_mm) for cap in caps]))
    tried, fits = _around(caps, half, _likeliest(caps, half))
    width, u = _posterior(tried, fits)
    best = min(fits, key=lambda fit: fit.cost)
    spread = 1.4826 * float(np.nanmedian(np.abs(best.left_mm)))
    if width > WIDEST_SHARE * half or (spread > ROUGH_MM and best.over_noise > ROUGH):
        raise ProbeError(
            f"the trace is no edge rounded off by a spot: it lies {1e3 * spread:.0f} µm off the "
            "best one; allowed a sharp edge across the rail, with two even flanks"
        )
    slope = float(np.mean(best.values))
    u_edge = u_edge_mm * 4.0 * (float(np.hypot(1.0, slope)) - 1.0) / slope
    u = float(np.sqrt(u**2 + u_edge**2 + (width * along) ** 2))
    return SpotFound(width, u, len(caps), 1e3 * spread)


def _likeliest(caps: Sequence[Cap], half_mm: float) -> float:
    """The best of a few widths, then the best beside it."""
    tried = np.linspace(0.0, 1.5 * WIDEST_SHARE * half_mm, _TRIED)
    first = int(np.argmin([_fit(caps, float(width), half_mm).cost for width in tried]))
    beside = (float(tried[max(first - 1, 0)]), float(tried[min(first + 1, _TRIED - 1)]))
    found = minimize_scalar(
        lambda width: _fit(caps, float(width), half_mm).cost,
        bounds=beside,
        method="bounded",
        options={"xatol": _CLOSE_MM},
    )
    return float(found.x)


def _around(
    caps: Sequence[Cap], half_mm: float, width_mm: float
) -> tuple[FloatArray, list[CapFit]]:
    """Widths about the likeliest, out to where they do clearly worse, and their fits."""
    best, reach = _fit(caps, width_mm, half_mm), 2.0 * _CLOSE_MM
    while reach < half_mm:
        worse = _fit(caps, width_mm + reach, half_mm).cost - best.cost
        if worse > 10.0 * best.over_noise**2:
            break
        reach *= 1.6
    tried = np.linspace(max(width_mm - reach, 0.0), width_mm + reach, _TRIED)
    return tried, [_fit(caps, float(width), half_mm) for width in tried]


def _posterior(width_mm: FloatArray, fits: Sequence[CapFit]) -> tuple[float, float]:
    """Mean and standard deviation over the widths tried, each by how well it does; a spot too
    narrow to be seen is one between nothing and what would have shown."""
    cost = np.array([fit.cost for fit in fits])
    best = fits[int(np.argmin(cost))]
    chance = np.exp(-0.5 * (cost - cost.min()) / best.over_noise**2)
    chance = chance / chance.sum()
    mean = float(chance @ width_mm)
    step = float(width_mm[1] - width_mm[0])
    return mean, float(np.sqrt(chance @ (width_mm - mean) ** 2 + step**2 / 12.0))


def _flanks(cap: Cap) -> Cap:
    """Down to well over what lies beside the edge, and not past either foot."""
    beside = float(np.median(np.sort(cap.z_mm)[: max(cap.z_mm.size // 5, 1)]))
    deep = min(DEEP_SHARE * -beside, DEEPEST_MM)
    # a single spike is no foot
    low = median_filter(cap.z_mm, size=3, mode="nearest") < -deep
    left, right = cap.x_mm[low & (cap.x_mm < 0.0)], cap.x_mm[low & (cap.x_mm > 0.0)]
    first = float(left.max()) if left.size else -np.inf
    last = float(right.min()) if right.size else np.inf
    flanks = cap.rows((cap.x_mm > first) & (cap.x_mm < last))
    if flanks.x_mm.size < 8:
        raise ProbeError(
            f"{flanks.x_mm.size} readings on the edge's flanks; at least 8 are needed: scan slower "
            "or at a higher rate"
        )
    return flanks


def _fit(caps: Sequence[Cap], width_mm: float, half_mm: float) -> CapFit:
    """All passes together, for one width: a single pass has hardly a reading on the ridge."""
    steep = max(float(np.median([-cap.z_mm.min() for cap in caps])) / half_mm, 0.05)

    def shape(u: FloatArray, values: FloatArray) -> FloatArray:
        return rounded_roof(u, max(width_mm, _NARROWEST_MM), float(values[0]), float(values[1]))

    return fit_caps(caps, shape, np.array([steep, steep]), _BOUNDS)
