"""What a ball tip did to the shape it rode over, undone where it can be."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.passes import FloatArray

#: A stretch that one position of the ball accounts for is a bridge from this length on; shorter
#: ones are the grid's and the noise's.
LEAST_BRIDGE_MM = 0.15
_LEAST_BRIDGE_STEPS = 4


@dataclass(frozen=True, slots=True)
class Eroded:
    """z_mm: float[n], the highest surface that could have made the trace; NaN where it had none.

    bridged: bool[n], where the ball stood on two places and the surface between lies at z_mm or
    anywhere under it: no ball of this size can tell.
    """

    z_mm: FloatArray
    bridged: NDArray[np.bool_]


def erode(x_mm: FloatArray, z_mm: FloatArray, ball_mm: float) -> Eroded:
    """Takes the ball of radius ball_mm off its trace by grey-scale erosion.

    x_mm: float[n], even steps, rising. z_mm: float[n], the height of the ball's lowest point,
    NaN where missing.

    The trace is the surface dilated by the ball; eroding it by the same ball,

        z(p) = min over |u| <= r of  trace(p + u) + r - sqrt(r^2 - u^2),

    gives the surface's closing: exact wherever the ball touched (the idea of ISO 16610-40 and
    -41, and of tip deconvolution in scanning probe microscopy, Villarrubia, J. Res. NIST 102
    (1997) 425). Where the least is reached with the ball in one and the same place over a whole
    stretch, the ball stood on that stretch's two ends: `bridged`.

    Within a ball's radius of the ends, and of missing readings, a position of the ball that
    matters may be missing, and z is a bound from above. The least of noisy readings is biased
    low by about their noise. Raises ValueError for uneven steps or a ball of no size.
    """
    step = _even_step(x_mm)
    if ball_mm <= 0.0:
        raise ValueError(f"ball_mm: found {ball_mm:g}; allowed: above 0")
    reach = int(ball_mm / step + 1e-9)
    missing = ~np.isfinite(z_mm)
    trace = np.pad(np.where(missing, np.inf, z_mm), reach, constant_values=np.inf)
    lowest = np.full(z_mm.size, np.inf)
    centre = np.arange(z_mm.size)
    for k in range(-reach, reach + 1):
        rise = ball_mm - np.sqrt(max(ball_mm**2 - (k * step) ** 2, 0.0))
        under = trace[reach + k : reach + k + z_mm.size] + rise
        lower = under < lowest
        lowest[lower] = under[lower]
        centre[lower] = np.flatnonzero(lower) + k
    lowest[missing] = np.nan
    return Eroded(lowest, _bridges(centre, step) & ~missing)


def _even_step(x_mm: FloatArray) -> float:
    steps = np.diff(x_mm)
    if steps.size == 0 or steps.min() <= 0 or np.ptp(steps) > 1e-3 * steps.mean():
        raise ValueError("x_mm: found uneven steps; allowed: an even grid, rising")
    return float(np.mean(steps))


def _bridges(centre: NDArray[np.int_], step_mm: float) -> NDArray[np.bool_]:
    """Stretches that share one position of the ball, their ends (touched) left out."""
    first = np.flatnonzero(np.diff(centre, prepend=centre[0] - 1))
    last = np.append(first[1:], centre.size) - 1
    long = last - first >= max(_LEAST_BRIDGE_STEPS, LEAST_BRIDGE_MM / step_mm)
    bridged = np.zeros(centre.size, dtype=bool)
    for a, b in zip(first[long], last[long], strict=True):
        bridged[a + 1 : b] = True
    return bridged
