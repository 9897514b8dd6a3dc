"""What is left of heights over the neck once the plane through them is taken off."""

from __future__ import annotations

import numpy as np

from analysis.instrument import FloatArray


def off_plane(z_mm: FloatArray, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
    """z_mm less its least-squares plane over (x, y); equal shapes, NaN in z_mm stays and is left
    out of the fit. Where fewer than three are known nothing is taken off."""
    known = np.isfinite(z_mm)
    if np.count_nonzero(known) < 3:
        return z_mm
    design = np.stack([np.ones_like(x_mm), x_mm, y_mm], axis=-1)
    plane, *_ = np.linalg.lstsq(design[known], z_mm[known], rcond=None)
    return np.asarray(z_mm - design @ plane)
