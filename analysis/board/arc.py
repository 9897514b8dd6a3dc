"""Across the board: cone, roll and twist."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.board.climb import Climb, climb_of
from analysis.board.roll import Roll, smooth_roll
from analysis.instrument import FloatArray

#: The radius of a board that is as good as flat.
FLAT_MM = 1e5
#: A radius beyond this is no arc at all: flat, or seen by too few lanes.
NO_ARC_MM = 0.5 * FLAT_MM


@dataclass(frozen=True, slots=True)
class Arc:
    """Board z = centre line(x) + roll(x) y - sagitta(y, radius(x)).

    The radius runs linearly (a cone) from nut_radius_mm at x = 0 to last_radius_mm at
    x = last_x_mm, both of the board itself. radius_covariance: float[2, 2] of the two, of the
    readings alone, NaN where too few lanes show an arc; climb: how far the tip climbs across;
    u_tip_mm: what not knowing that adds to both radii alike.
    """

    nut_radius_mm: float
    last_radius_mm: float
    last_x_mm: float
    radius_covariance: FloatArray
    climb: Climb
    u_tip_mm: float
    roll: Roll

    def radius_mm(self, x_mm: FloatArray) -> FloatArray:
        """Of the board, along the neck; at least 20 mm, so that past its ends it stays round."""
        share = x_mm / self.last_x_mm
        radius = self.nut_radius_mm + share * (self.last_radius_mm - self.nut_radius_mm)
        return np.asarray(np.maximum(radius, 20.0))

    def u_radius_mm(self, x_mm: float) -> float:
        """Standard uncertainty of the radius at a place, the tip's part included."""
        share = x_mm / self.last_x_mm
        row = np.array([1.0 - share, share])
        return float(np.sqrt(row @ self.radius_covariance @ row + self.u_tip_mm**2))

    def slope(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        """dz/dy of the board."""
        return np.asarray(self.roll.at(x_mm) - y_mm / self.radius_mm(x_mm))

    def twist_mrad(self, from_mm: float, to_mm: float) -> tuple[float, float]:
        """Turn of the board's section between two places along the neck, and its u.

        The u is the scan's own: a roll of the rail turns every section that is read over it.
        """
        twist, u = self.roll.between(from_mm, to_mm)
        return 1e3 * twist, 1e3 * u


def sagitta_mm(radius_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
    """Drop of a circle at y from its top, y^2 / (r + sqrt(r^2 - y^2)): no cancellation."""
    return np.asarray(y_mm**2 / (radius_mm + np.sqrt(radius_mm**2 - y_mm**2)))


def fit_arc(
    x_mm: FloatArray,
    y_mm: FloatArray,
    z_mm: FloatArray,
    ball_mm: float,
    joint_mm: float,
    made_mm: FloatArray,
) -> Arc:
    """Cone and roll of a board seen through a tip.

    Height and roll are left free at every gap, so that bow, humps and twist do not leak into
    the cone (Gauss-Newton least squares); the gaps' rolls then make the smooth roll.
    A ball's trace of an arc of radius r is one of radius r + ball; a wheel that does not climb
    across traces r itself. How much of the ball is taken off, `climb_of` tells.

    x_mm, y_mm, z_mm: float[gaps, lanes]; NaN is left out, and so is a gap that one lane saw.
    With fewer than three lanes, or on a board with no arc to see, the radius is FLAT_MM.
    made_mm: float[2], the radii by the instrument's file at x = 0 and at the largest x_mm.
    """
    good = np.isfinite(z_mm)
    good &= (np.count_nonzero(good, axis=1) > 1)[:, None]
    last = float(np.nanmax(x_mm))
    gap = np.nonzero(good)[0]
    x, y, z = x_mm[good] / last, y_mm[good], z_mm[good]
    arched = bool(np.max(np.count_nonzero(good, axis=1), initial=0) >= 3)
    radii, covariance = np.full(2, FLAT_MM), np.full((2, 2), np.nan)
    if arched:
        radii, covariance = _cone(x, y, z, gap)
    climb = climb_of(radii, covariance, made_mm, ball_mm)
    level = z + sagitta_mm(radii[0] + x * (radii[1] - radii[0]), y)
    return Arc(
        float(radii[0]) - climb.share * ball_mm,
        float(radii[1]) - climb.share * ball_mm,
        last,
        covariance,
        climb,
        climb.u_share * ball_mm,
        _roll(x * last, y, level, gap, joint_mm),
    )


def _cone(
    x: FloatArray, y: FloatArray, z: FloatArray, gap: NDArray[np.int_]
) -> tuple[FloatArray, FloatArray]:
    """Radii of the trace at both ends and their covariance; x from 0 to 1."""
    arcs = -0.5 * y[:, None] ** 2 * np.column_stack([1.0 - x, x])
    start, *_ = np.linalg.lstsq(_straightened(arcs, y, gap), _straightened(z, y, gap), rcond=None)
    radii = np.asarray(1.0 / np.maximum(start, 1.0 / FLAT_MM))
    for _ in range(6):
        radius = radii[0] + x * (radii[1] - radii[0])
        design = _straightened(-arcs / radius[:, None] ** 2, y, gap)
        target = _straightened(z + sagitta_mm(radius, y), y, gap)
        step, *_ = np.linalg.lstsq(design, target, rcond=None)
        radii = np.clip(radii + step, 30.0, FLAT_MM)
    off = target - design @ step
    free = max(off.size - 2 * np.unique(gap).size - 2, 1)
    return radii, np.linalg.pinv(design.T @ design) * float(off @ off) / free


def _roll(
    x: FloatArray, y: FloatArray, z: FloatArray, gap: NDArray[np.int_], joint_mm: float
) -> Roll:
    """From heights without their arc: each gap's slope, and the smooth curve through them.

    Between fanned frets the lanes cross a gap at places of their own, and the bow along the neck
    would look like a roll: it is taken off by the slope from gap to gap.
    """
    gaps = np.unique(gap)
    across = _centred(y, gap)
    along = _centred(x, gap)
    place = _means(x, gap)[gaps]
    if gaps.size > 1:
        bow = np.zeros(int(gaps[-1]) + 1)
        bow[gaps] = np.gradient(_means(z, gap)[gaps], place)
        z = z - bow[gap] * along
    spread = np.bincount(gap, across**2)[gaps]
    slope = np.bincount(gap, across * z)[gaps] / spread
    return smooth_roll(place, slope, 1.0 / np.sqrt(spread), joint_mm)


def _straightened(columns: FloatArray, y: FloatArray, gap: NDArray[np.int_]) -> FloatArray:
    """Columns less their straight line over y in each gap: level and roll, eliminated."""
    across = _centred(y, gap)
    spread = np.maximum(np.bincount(gap, across**2), 1e-12)

    def one(column: FloatArray) -> FloatArray:
        slope = np.bincount(gap, across * column) / spread
        return _centred(column, gap) - slope[gap] * across

    if columns.ndim == 1:
        return one(columns)
    return np.stack([one(column) for column in columns.T], axis=1)


def _means(column: FloatArray, gap: NDArray[np.int_]) -> FloatArray:
    """float[largest gap + 1], 0 where there is none."""
    return np.asarray(np.bincount(gap, column) / np.maximum(np.bincount(gap), 1))


def _centred(column: FloatArray, gap: NDArray[np.int_]) -> FloatArray:
    """Less its mean in each gap."""
    return np.asarray(column - _means(column, gap)[gap])


def ball_on_slope_mm(slope: FloatArray, ball_mm: float) -> FloatArray:
    """What a ball's reading is too high by on a surface tilted across: r (sec - 1)."""
    return np.asarray(ball_mm * (np.sqrt(1.0 + slope**2) - 1.0))
