"""What a neck under changed loads can do: the functions a movement is made of."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from analysis.instrument import FloatArray

#: Lengths are counted in these, so that a coefficient is what it does over 100 mm.
_UNIT_MM = 100.0
#: Loads may act this far apart, closer than frets mostly stand.
_LOADS_MM = 10.0
#: Of what the loads can do only so many shapes are large enough to be seen between frets.
_SHAPES = 12
#: How far from the body-joint fret stiffness may jump, and in what steps: a heel begins before
#: it, a joint may lie behind it (common practice, no source).
_JOINT_MM, _JOINT_STEP_MM = 50.0, 12.5


@dataclass(frozen=True, slots=True)
class Part:
    """One function of x: a free polynomial, loads anywhere, jumps about the joint.

    order: of the derivative that a load makes a spike of; jump: of the one that jumps with the
    stiffness. shapes: [loads, shapes], the combinations of loads that are kept.
    """

    middle_mm: float
    order: int
    jump: int
    loads_mm: FloatArray
    shapes: FloatArray
    joint_mm: FloatArray

    @property
    def groups(self) -> tuple[int, int, int]:
        """How many coefficients are free, loads' and jumps'."""
        return self.order, self.shapes.shape[1], self.joint_mm.size

    def rows(self, x_mm: FloatArray, derivative: int = 0) -> FloatArray:
        """[points, coefficients], mm over mm^derivative; a coefficient of 1 mm each."""
        free = _powers((x_mm - self.middle_mm) / _UNIT_MM, self.order, derivative)
        loads = _onset(x_mm, self.loads_mm, self.order - 1, derivative) * self._share
        jumps = _onset(x_mm, self.joint_mm, self.jump, derivative) / np.sqrt(self.joint_mm.size)
        whole = np.hstack([free, loads @ self.shapes, jumps])
        return np.asarray(whole / _UNIT_MM**derivative)

    @property
    def _share(self) -> float:
        """White loads: what one of them adds grows with the root of its stretch."""
        return float(np.sqrt(_LOADS_MM / _UNIT_MM))


def _part(low: float, high: float, joint: float, order: int, jump: int) -> Part:
    """With the shapes that loads can make beyond the free polynomial, largest first."""
    loads = np.arange(low, high, _LOADS_MM)
    places = joint + np.arange(-_JOINT_MM, _JOINT_MM + 1.0, _JOINT_STEP_MM)
    bare = Part(0.5 * (low + high), order, jump, loads, np.eye(loads.size), places)
    rows = bare.rows(np.linspace(low, high, 2 * loads.size))
    free, _ = np.linalg.qr(rows[:, :order])
    beyond = rows[:, order : order + loads.size]
    _, _, shapes = np.linalg.svd(beyond - free @ (free.T @ beyond), full_matrices=False)
    return replace(bare, shapes=shapes[:_SHAPES].T)


def _powers(t: FloatArray, count: int, derivative: int) -> FloatArray:
    """Columns of t^0, t^1 and so on, derived."""
    columns = np.polynomial.polynomial.polyder(np.eye(count), derivative, axis=0)
    return np.asarray(np.vander(t, max(count - derivative, 1), increasing=True) @ columns)


def _onset(x_mm: FloatArray, begin_mm: FloatArray, power: int, derivative: int) -> FloatArray:
    """Columns that are 0 up to begin_mm and a power of the distance past it, derived."""
    past = (x_mm[:, None] - begin_mm) / _UNIT_MM
    factor = float(np.prod(np.arange(power, power - derivative, -1)))
    return np.asarray(np.where(past > 0.0, factor * np.abs(past) ** (power - derivative), 0.0))


@dataclass(frozen=True, slots=True)
class Basis:
    """dz(x, y) = f(x) + y/half width g(x) - arch y^2/2 f''(x).

    A neck is a slender beam, so its sections stay straight and turn (Euler and Bernoulli, and
    Saint-Venant for the twist). Deflection f obeys EI f'' = M, twist g obeys GJ g' = T. M and
    T are continuous but where something pushes, and nobody knows where that is: loads are
    taken for white noise along the neck, so f'''' and g'' are white about a free cubic and a
    free line (what end moments, end forces and standing elsewhere on the rig do). That holds a
    kink of f'' under a point load and the curvature of a tapering neck. Deflection and
    slope are continuous; stiffness is not where the neck thickens into its heel and meets the
    body, so f'' and g' may jump there, at places from 50 mm before the body-joint fret to
    50 mm past it.

    Twist is linear in y. What is quadratic: a beam bent along arches across by Poisson's ratio
    the other way, in a beam this narrow freely (Searle's b^2 / (R h) is under 0.01). 0.2 mm of
    bow and a ratio of 0.4 give 1.1 um at the outer strings, so `arch` is fitted. bend: f's
    coefficients, known from a first fit, that say how the neck bends.
    """

    bends: Part
    turns: Part
    half_width_mm: float
    bend: FloatArray

    @staticmethod
    def over(x_mm: FloatArray, y_mm: FloatArray, joint_mm: float) -> Basis:
        """For points that lie there (NaN left out); the arch is nothing until `bent`."""
        low, high = float(np.nanmin(x_mm)) - 1.0, float(np.nanmax(x_mm)) + 1.0
        bends = _part(low, high, joint_mm, order=4, jump=2)
        turns = _part(low, high, joint_mm, order=2, jump=1)
        half_width = max(float(np.nanmax(np.abs(y_mm))), 1.0)
        return Basis(bends, turns, half_width, np.zeros(sum(bends.groups)))

    def bent(self, coefficients: FloatArray) -> Basis:
        """The same, its arch following this movement's bend."""
        return replace(self, bend=coefficients[: self.bend.size])

    @property
    def groups(self) -> tuple[int, ...]:
        """Coefficients in the order of `rows`: f's free, loads, jumps, g's likewise, the arch."""
        return *self.bends.groups, *self.turns.groups, 1

    def rows(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        """Linear map from coefficients to dz: [points, coefficients]."""
        x, y = x_mm.ravel(), y_mm.ravel()
        turns = self.turns.rows(x) * (y / self.half_width_mm)[:, None]
        arch = -0.5 * y**2 * (self.bends.rows(x, derivative=2) @ self.bend)
        return np.column_stack([self.bends.rows(x), turns, arch])
