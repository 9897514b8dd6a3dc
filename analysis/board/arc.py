"""Across the board: cone, roll and twist."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray

#: The radius of a board that is as good as flat.
FLAT_MM = 1e5
#: Roll along the neck: offset, slope and two bends are all that a board shows.
ROLL_TERMS = 4


@dataclass(frozen=True, slots=True)
class Arc:
    """Board z = centre line(x) + roll(x) y - sagitta(y, radius(x)).

    The radius runs linearly (a cone) from nut_radius_mm at x = 0 to last_radius_mm at
    x = last_x_mm, both of the board itself. roll: float[4], coefficients of x / last_x_mm,
    mm/mm; roll_covariance: float[4, 4].
    """

    nut_radius_mm: float
    last_radius_mm: float
    last_x_mm: float
    roll: FloatArray
    roll_covariance: FloatArray

    def radius_mm(self, x_mm: FloatArray) -> FloatArray:
        """Of the board, along the neck; at least 20 mm, so that past its ends it stays round."""
        share = x_mm / self.last_x_mm
        radius = self.nut_radius_mm + share * (self.last_radius_mm - self.nut_radius_mm)
        return np.asarray(np.maximum(radius, 20.0))

    def slope(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        """dz/dy of the board."""
        roll = np.polynomial.polynomial.polyval(x_mm / self.last_x_mm, self.roll)
        return np.asarray(roll - y_mm / self.radius_mm(x_mm))

    def twist_mrad(self, from_mm: float, to_mm: float) -> tuple[float, float]:
        """Turn of the board's section between two places along the neck, and its u."""
        ends = np.array([to_mm, from_mm]) / self.last_x_mm
        row = np.subtract(*np.vander(ends, ROLL_TERMS, increasing=True))
        return 1e3 * float(row @ self.roll), 1e3 * float(np.sqrt(row @ self.roll_covariance @ row))


def sagitta_mm(radius_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
    """Drop of a circle at y from its top, y^2 / (r + sqrt(r^2 - y^2)): no cancellation."""
    return np.asarray(y_mm**2 / (radius_mm + np.sqrt(radius_mm**2 - y_mm**2)))


def fit_arc(x_mm: FloatArray, y_mm: FloatArray, z_mm: FloatArray, ball_mm: float) -> Arc:
    """Cone and roll of a board seen through a ball, by Gauss-Newton least squares.

    The centre line is left free at every gap, so that bow and humps do not leak into the arc.
    The ball's trace of an arc of radius r is one of radius r + ball.

    x_mm, y_mm, z_mm: float[gaps, lanes]; NaN is left out. With fewer than three lanes, or on a
    board with no arc to see, the radius is FLAT_MM.
    """
    good = np.isfinite(z_mm)
    last = float(np.nanmax(x_mm))
    gap = np.nonzero(good)[0]
    x, y, z = x_mm[good] / last, y_mm[good], z_mm[good]
    rolls = np.vander(x, ROLL_TERMS, increasing=True) * y[:, None]
    arched = bool(np.max(np.count_nonzero(good, axis=1)) >= 3)
    radii = np.full(2, FLAT_MM)
    if arched:
        radii = _first_radii(rolls, x, y, z, gap)
    for _ in range(6 if arched else 1):
        radius = radii[0] + x * (radii[1] - radii[0])
        by_radius = (0.5 * y**2 / radius**2)[:, None] * np.column_stack([1.0 - x, x])
        design = _within(np.hstack([rolls, by_radius]) if arched else rolls, gap)
        target = _within((z + sagitta_mm(radius, y))[:, None], gap)[:, 0]
        fit, *_ = np.linalg.lstsq(design, target, rcond=None)
        if arched:
            radii = np.clip(radii + fit[ROLL_TERMS:], 30.0, FLAT_MM)
    off = target - design @ fit
    free = max(off.size - np.unique(gap).size - fit.size, 1)
    covariance = np.linalg.pinv(design.T @ design) * float(off @ off) / free
    return Arc(
        float(radii[0]) - ball_mm,
        float(radii[1]) - ball_mm,
        last,
        fit[:ROLL_TERMS],
        covariance[:ROLL_TERMS, :ROLL_TERMS],
    )


def _first_radii(
    rolls: FloatArray, x: FloatArray, y: FloatArray, z: FloatArray, gap: NDArray[np.int_]
) -> FloatArray:
    """Where to start: curvature linear in x, which is a linear fit."""
    arcs = np.column_stack([-0.5 * y**2 * (1.0 - x), -0.5 * y**2 * x])
    fit, *_ = np.linalg.lstsq(
        _within(np.hstack([rolls, arcs]), gap), _within(z[:, None], gap)[:, 0], rcond=None
    )
    return np.asarray(1.0 / np.maximum(fit[ROLL_TERMS:], 1.0 / FLAT_MM))


def _within(columns: FloatArray, group: NDArray[np.int_]) -> FloatArray:
    """Columns less their mean in each group: a free level for each gap, eliminated."""
    count = np.bincount(group)
    means = np.stack([np.bincount(group, c) / np.maximum(count, 1) for c in columns.T], axis=1)
    return np.asarray(columns - means[group])


def ball_on_slope_mm(slope: FloatArray, ball_mm: float) -> FloatArray:
    """What a ball's reading is too high by on a surface tilted across: r (sec - 1)."""
    return np.asarray(ball_mm * (np.sqrt(1.0 + slope**2) - 1.0))
