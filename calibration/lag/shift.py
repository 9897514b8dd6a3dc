"""How far two passes over one surface stand apart."""

from __future__ import annotations

import numpy as np

from calibration.lag.layover import LaidOver, Readings, lay_over
from calibration.lag.rounding import scatter_mm
from calibration.passes import FloatArray
from calibration.profile import Profile

#: Grid of the first look; finer than any sample spacing worth having.
GRID_MM = 0.02
#: Widest shift looked for.
WIDEST_MM = 2.0
#: Length over which the first look takes a slope, or noise would pass for shape.
SLOPE_MM = 0.3
#: Slopes beyond this count as this much in the first look.
BOUND = 0.8
#: Slope energy of one good crown, about: less than this is no shape.
LEAST_ENERGY_MM = 0.05
#: Correlation of two passes' slopes over a shape; even surfaces, spikes and noise have none.
LEAST_ALIKE = 0.5
#: Two passes must see this much in common.
LEAST_OVERLAP_MM = 20.0
#: Stretches that together hold this share of the slope energy say all there is to say.
TELLING_SHARE = 0.995
_TELLING_MM = 1.0

TOO_EVEN = "what stands on the rig is too even to match; put a neck or an edge on it"


class LagError(ValueError):
    """The passes do not determine lag and backlash."""


def match_shift(forward: Profile, backward: Profile) -> tuple[float, float]:
    """How far the forward pass stands to the right of the backward one, mm, and its u.

    Coarse: the best correlation of slopes. Fine: both passes laid over one common surface
    (`layover.lay_over`), in which neither spikes nor one odd crown decide. u holds the noise of
    both passes and what not knowing the surface costs; not how the counts of a whole pass are
    rounded (`calibration.lag.rounding`). Raises LagError where nothing on the rig has a shape to
    match.
    """
    places = [(p.x_mm[p.ok], p.z_mm[p.ok]) for p in (forward, backward)]
    start = coarse_shift(places[0], places[1])
    parts = [
        (x - side * start, z, np.full((x.size, 1), side), np.full(x.size, number))
        for number, ((x, z), side) in enumerate(zip(places, (0.5, -0.5), strict=True))
    ]
    data = Readings(*(np.concatenate(part) for part in zip(*parts, strict=True)))
    laid = lay_over(telling(data), max(scatter_mm(x) for x, _ in places), np.zeros(2))
    check_shape(laid)
    return start + float(laid.unknowns[0]), float(np.sqrt(laid.covariance[0, 0]))


def check_shape(laid: LaidOver) -> None:
    """Raises LagError unless the slope energy is well over what noise makes of a line."""
    if not laid.energy_mm > LEAST_ENERGY_MM + 4.0 * laid.noise_energy_mm:
        raise LagError(TOO_EVEN)


def telling(data: Readings) -> Readings:
    """The readings where the surface slopes: the rest only costs time."""
    cell = ((data.x_mm - data.x_mm.min()) / GRID_MM / 5.0).astype(int)
    count = np.bincount(cell)
    seen = np.flatnonzero(count)
    height = np.interp(
        np.arange(count.size), seen, np.bincount(cell, data.z_mm)[seen] / count[seen]
    )
    energy = np.clip(np.gradient(height, 5.0 * GRID_MM), -BOUND, BOUND) ** 2
    per = round(_TELLING_MM / GRID_MM / 5.0)
    block = np.bincount(np.arange(energy.size) // per, energy)
    order = np.argsort(-block)
    enough = int(np.searchsorted(np.cumsum(block[order]), TELLING_SHARE * block.sum())) + 1
    kept = np.zeros(block.size + 2, dtype=bool)
    for beside in range(3):
        kept[order[:enough] + beside] = True
    return data.some(kept[1:-1][cell // per])


def coarse_shift(
    forward: tuple[FloatArray, FloatArray], backward: tuple[FloatArray, FloatArray]
) -> float:
    """Shift of the first against the second by the correlation of bounded slopes on a grid.

    (x_mm, z_mm) of each, x rising. Raises LagError where they do not overlap, or show no shape in
    common.
    """
    if not (forward[0].size and backward[0].size):
        raise LagError("a pass has no valid reading at all; is the surface in the sensor's range?")
    low, high = (max(forward[0][0], backward[0][0]), min(forward[0][-1], backward[0][-1]))
    if high - low < LEAST_OVERLAP_MM:
        raise LagError(f"the passes overlap by less than {LEAST_OVERLAP_MM:.0f} mm")
    x = np.arange(low, high, GRID_MM)
    a, b = (np.clip(_slope(np.interp(x, *one)), -BOUND, BOUND) for one in (forward, backward))
    a, b = a - a.mean(), b - b.mean()
    size = 2 ** int(np.ceil(np.log2(2 * a.size)))
    spectrum = np.fft.rfft(a, size) * np.conj(np.fft.rfft(b, size))
    correlation = np.fft.irfft(spectrum, size)
    widest = int(WIDEST_MM / GRID_MM)
    lags = np.concatenate([np.arange(widest + 1), np.arange(-widest, 0)])
    best = int(lags[np.argmax(correlation[lags])])
    if not correlation[best] > LEAST_ALIKE * float(np.linalg.norm(a) * np.linalg.norm(b)):
        raise LagError(TOO_EVEN)
    return best * GRID_MM


def _slope(z_mm: FloatArray) -> FloatArray:
    """Rise over SLOPE_MM at every grid point."""
    reach = max(1, round(SLOPE_MM / GRID_MM / 2))
    padded = np.pad(z_mm, reach, mode="edge")
    return np.asarray((padded[2 * reach :] - padded[: -2 * reach]) / (2 * reach * GRID_MM))
