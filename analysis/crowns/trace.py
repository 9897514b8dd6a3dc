"""The trace a tip draws over a crown: round, or round with a flat worn into it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray

#: The parallel circle is followed to this share of its radius, and held there beyond.
FOLLOWED = 0.95


@dataclass(frozen=True, slots=True)
class Eye:
    """What follows the crown: a ball's radius, or the width of a light spot (ball 0), mm."""

    ball_mm: float
    spot_mm: float = 0.0

    def curvature(self, radius_mm: FloatArray) -> FloatArray:
        """Of the circle that the ball's centre runs on, 1/mm."""
        return np.asarray(1.0 / (radius_mm + self.ball_mm))

    def radius_mm(self, curvature: FloatArray) -> FloatArray:
        """Of the crown, the other way round."""
        return np.asarray(1.0 / curvature - self.ball_mm)


@dataclass(frozen=True, slots=True)
class Trace:
    """Depth below the crown's top, and its slopes; all shaped like the positions given.

    z_mm: 0 at a point's or ball's top, negative beside it. by_x, by_curvature, by_flat: change
    with the position, with the curvature of the outer circle, and with the flat's width.
    """

    z_mm: FloatArray
    by_x: FloatArray
    by_curvature: FloatArray
    by_flat: FloatArray


def trace(x_mm: FloatArray, curvature: FloatArray, flat_mm: FloatArray | float, eye: Eye) -> Trace:
    """A ball, or a light spot, over a circle cut off by a flat.

    A ball's trace has three parts, each tangent to the next: over the flat the ball keeps its
    height; over the flat's corner it turns about that corner (radius ball); beyond, its centre
    runs on the parallel circle (radius crown + ball), the dilation of ISO 16610-41's idea. With
    no flat only the last part is left. A spot, bright all over alike, sees the mean of the
    crown under it; that mean has a closed form.

    x_mm: float[..., n] from the crown's middle. curvature: float[..., 1], `Eye.curvature` of
    the crown's radius. flat_mm: one width, or float[..., 1].
    """
    outer = 1.0 / curvature
    half = np.minimum(0.5 * np.asarray(flat_mm), 0.9 * (outer - eye.ball_mm))
    return _seen(x_mm, outer, half, eye.spot_mm) if eye.spot_mm else _ridden(x_mm, outer, half, eye)


def taken_off_mm(radius_mm: FloatArray, flat_mm: FloatArray, eye: Eye) -> FloatArray:
    """What a spot reads too low at the middle of a crown; a point and a ball read it as it is.

    About spot^2 / (24 radius) on a round crown, nothing on a flat wider than the spot.
    """
    curvature = eye.curvature(radius_mm)[..., None]
    middle = np.zeros_like(curvature)
    return np.asarray(-trace(middle, curvature, flat_mm[..., None], eye).z_mm[..., 0])


def _ridden(x: FloatArray, outer: FloatArray, half: FloatArray, eye: Eye) -> Trace:
    v = np.abs(x)
    radius = outer - eye.ball_mm
    below = np.sqrt(radius**2 - half**2)
    w = np.minimum(v, FOLLOWED * outer)
    root = np.sqrt(outer**2 - w**2)
    z = root - (eye.ball_mm + below)
    slope = -w / root
    by_curvature = -(outer**2) * (outer / root - radius / below)
    by_flat = np.broadcast_to(0.5 * half / below, v.shape)
    if np.any(half > 0.0):
        inside = v < half * (outer / radius)
        past = np.maximum(v - half, 0.0)
        # a point (ball 0) has no corner to turn about: the flat meets the circle at once
        turn = np.sqrt(np.maximum(eye.ball_mm**2 - past**2, 1e-12))
        steep = past / turn
        z = np.where(inside, turn - eye.ball_mm if eye.ball_mm else 0.0, z)
        slope = np.where(inside, -steep, slope)
        by_curvature = np.where(inside, 0.0, by_curvature)
        by_flat = np.where(inside, 0.5 * steep, by_flat)
    return Trace(z, np.copysign(slope, -x), by_curvature, by_flat)


def _seen(x: FloatArray, outer: FloatArray, half: FloatArray, spot: float) -> Trace:
    """Means over the spot: differences of the trace's own integrals at its two edges."""
    right, left = x + 0.5 * spot, x - 0.5 * spot
    ahead, behind = _integrals(right, outer, half), _integrals(left, outer, half)
    z, by_outer, by_half, by_x = ((a - b) / spot for a, b in zip(ahead, behind, strict=True))
    return Trace(z, by_x, -(outer**2) * by_outer, 0.5 * by_half)


def _integrals(
    x: FloatArray, outer: FloatArray, half: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Of a point's trace from 0 to x, of its changes with outer and half; and the trace at x.

    Integral of sqrt(r^2 - v^2) = (v sqrt(r^2 - v^2) + r^2 asin(v / r)) / 2, odd in x.
    """
    v = np.abs(x)
    w = np.clip(v, half, FOLLOWED * outer)
    held = np.maximum(v - w, 0.0)
    below, root = np.sqrt(outer**2 - half**2), np.sqrt(outer**2 - w**2)
    angle = np.arcsin(w / outer) - np.arcsin(half / outer)
    depth = root - below
    z = 0.5 * (w * root - half * below + outer**2 * angle) - below * (w - half) + depth * held
    by_outer = (
        outer * angle - outer / below * (w - half) + outer * (1.0 / root - 1.0 / below) * held
    )
    by_half = half / below * (w - half + held)
    sign: NDArray[np.float64] = np.sign(x)
    return sign * z, sign * by_outer, sign * by_half, depth
