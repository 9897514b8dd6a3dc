"""What a ball of radius r reads: the surface dilated by the ball, less r.

Along x the dilation is exact on a fine grid. Across y the surface is taken as its own
paraboloid z + g s + k s^2 / 2; the ball, taken as one too, then rides g^2 / (2 (1/r - k))
higher. Right for the small slopes a fingerboard has across, and for its dents as long as
they are wider than the ball.
"""

from __future__ import annotations

import numpy as np
from scipy.ndimage import grey_dilation

from sim.instrument import FloatArray


def dilate_along(z_mm: FloatArray, step_mm: float, radius_mm: float) -> FloatArray:
    """float[n] on a grid of step_mm: the ball's lowest point as it rides over the profile."""
    reach = int(radius_mm / step_mm)
    away_mm = step_mm * np.arange(-reach, reach + 1)
    ball = np.sqrt(radius_mm**2 - away_mm**2) - radius_mm
    ridden = grey_dilation(z_mm, structure=ball, mode="nearest")
    return np.asarray(ridden, dtype=float)


def lift_across(slope: FloatArray, curvature_per_mm: FloatArray, radius_mm: float) -> FloatArray:
    """How much higher the ball rides for the surface's slope and curvature across."""
    # A hollow sharper than the ball has no paraboloid contact: held to half the ball's.
    hollow = np.minimum(curvature_per_mm, 0.5 / radius_mm)
    return np.asarray(slope**2 / (2.0 * (1.0 / radius_mm - hollow)), dtype=float)
