"""The trace a ball draws over a crown: round, or round with a flat worn into it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray


@dataclass(frozen=True, slots=True)
class Trace:
    """Depth below the top and its slopes, all shaped like the positions given.

    z_mm: 0 at the top, negative beside it. dz_dx: slope. dz_dr: change with the crown's radius.
    """

    z_mm: FloatArray
    dz_dx: FloatArray
    dz_dr: FloatArray


def trace(x_mm: FloatArray, radius_mm: FloatArray, flat_mm: float, ball_mm: float) -> Trace:
    """A ball of radius `ball_mm` over a circle of `radius_mm` cut off by a flat.

    Three parts, each tangent to the next: over the flat the ball keeps its height; over the
    flat's corner it turns about that corner (radius ball); beyond, its centre runs on the
    parallel circle (radius crown + ball), the dilation of ISO 16610-41's idea. With no flat
    only the last part is left. Positions past 0.95 of the parallel circle are held there.

    x_mm: float[..., n] from the crown's middle. radius_mm: float[..., 1].
    """
    half = min(flat_mm / 2.0, 0.9 * float(np.min(radius_mm)))
    v = np.abs(x_mm)
    outer = radius_mm + ball_mm
    w = np.minimum(v, 0.95 * outer)
    root = np.sqrt(outer**2 - w**2)
    below = np.sqrt(radius_mm**2 - half**2)
    z = root - ball_mm - below
    slope = -w / root
    by_radius = outer / root - radius_mm / below
    if half > 0.0:
        z, slope, by_radius = _with_flat(v, half, radius_mm, ball_mm, Trace(z, slope, by_radius))
    return Trace(z, slope * np.sign(x_mm), by_radius)


def _with_flat(
    v: FloatArray, half: float, radius_mm: FloatArray, ball_mm: float, outside: Trace
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """The corner and the flat put in the middle of the outer arc."""
    past = np.clip(v - half, 0.0, 0.999 * ball_mm)
    # a point probe (ball 0) has no corner arc: the flat meets the circle at once
    root = np.sqrt(np.maximum(ball_mm**2 - past**2, 1e-12))
    arc, arc_slope = root - ball_mm, -past / root
    on_arc = v < half * (1.0 + ball_mm / radius_mm)
    on_flat = v <= half
    z = np.where(on_flat, 0.0, np.where(on_arc, arc, outside.z_mm))
    slope = np.where(on_flat, 0.0, np.where(on_arc, arc_slope, outside.dz_dx))
    by_radius = np.where(on_arc, 0.0, outside.dz_dr)
    return z, slope, by_radius
