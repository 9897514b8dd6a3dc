"""What a ball of radius r reads: the surface dilated by the ball, less r; and what light sees.

Along x the dilation is exact on a fine grid. Across y the surface is taken as its own
paraboloid z + g s + k s^2 / 2; the ball, taken as one too, then rides g^2 / (2 (1/r - k))
higher. Right for the small slopes a fingerboard has across, and for its dents as long as
they are wider than the ball. A spot of light averages along x, and has no width across.
"""

from __future__ import annotations

import numpy as np
from scipy.ndimage import convolve1d, grey_dilation

from sim.instrument import FloatArray


def dilate_along(z_mm: FloatArray, step_mm: float, radius_mm: float) -> FloatArray:
    """float[n] on a grid of step_mm: the ball's lowest point as it rides over the profile."""
    reach = int(radius_mm / step_mm)
    away_mm = step_mm * np.arange(-reach, reach + 1)
    ball = np.sqrt(np.clip(radius_mm**2 - away_mm**2, 0.0, None)) - radius_mm
    ridden = grey_dilation(z_mm, structure=ball, mode="nearest")
    return np.asarray(ridden, dtype=float)


def lift_across(slope: FloatArray, curvature_per_mm: FloatArray, radius_mm: float) -> FloatArray:
    """How much higher the ball rides for the surface's slope and curvature across."""
    # A hollow sharper than the ball has no paraboloid contact: held to half the ball's.
    hollow = np.minimum(curvature_per_mm, 0.5 / radius_mm)
    return np.asarray(slope**2 / (2.0 * (1.0 / radius_mm - hollow)), dtype=float)


def spot_weights(spot_mm: float, step_mm: float) -> FloatArray:
    """Weights on a grid for the mean over a spot of a surface straight between grid points."""
    reach = int(np.ceil(0.5 * spot_mm / step_mm)) + 1
    at_mm = step_mm * np.arange(-reach, reach + 1, dtype=np.float64)
    inside = _hat_integral((0.5 * spot_mm - at_mm) / step_mm)
    weights = inside - _hat_integral((-0.5 * spot_mm - at_mm) / step_mm)
    return np.asarray(weights * step_mm / spot_mm, dtype=float)


def average_along(z_mm: FloatArray, step_mm: float, spot_mm: float) -> FloatArray:
    """float[n] on a grid of step_mm: the mean over a flat-topped spot about each point."""
    mean = convolve1d(z_mm, spot_weights(spot_mm, step_mm), mode="nearest")
    return np.asarray(mean, dtype=float)


def _hat_integral(u: FloatArray) -> FloatArray:
    """Of max(0, 1 - |u|), from the far left to u."""
    inside = np.clip(u, -1.0, 1.0)
    return np.asarray(0.5 + inside - 0.5 * np.sign(inside) * inside**2, dtype=float)
