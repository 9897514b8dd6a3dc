"""How the neck moved between two scans: a smooth field over the board, with its uncertainty."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from analysis.movement.bending import Basis
from analysis.movement.likeliest import Posterior, Sizes, likeliest
from analysis.movement.robust import LEAST_TYPICAL, robust_fit, typical

#: Points this many deviations off the field are not the neck moving.
ODD = 4.5
ODD_ROUNDS = 6
FEWEST_POINTS = 8
#: What a coefficient may be, mm over 100 mm: f's loads, f's jumps, g's loads, g's jumps. The
#: largest are 50 N at one place on 400 N m^2, the curvature of 1 mm of bow, and a tenth of a
#: milliradian a millimetre of torsion; the ordinary are a tenth of that (own estimates).
LARGEST_MM = (0.1, 0.3, 0.05, 0.05)
ORDINARY_MM = (0.01, 0.1, 0.005, 0.01)
LEAST_MM = 1e-5
#: A neck may stand elsewhere on the rig by anything.
FREE_MM = 10.0
#: Poisson's ratio along against across is 0.3 to 0.5 in wood (from memory); frets and glue
#: hinder it, by how much nobody knows.
POISSON = 0.4


@dataclass(frozen=True, slots=True)
class Field:
    """A movement with a Gaussian posterior over its basis.

    coefficients: float[k]; covariance: float[k, k]; prior: float[k], precisions the fit began
    with. odd: bool, shaped like the points given: where the difference is no part of a smooth
    movement. scatter: how many times wider than their uncertainties the points lie about the
    field.
    """

    basis: Basis
    coefficients: FloatArray
    covariance: FloatArray
    prior: FloatArray
    odd: NDArray[np.bool_]
    scatter: float

    def design(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        """Rows of the linear map from coefficients to dz: [points, k]."""
        return self.basis.rows(x_mm, y_mm)

    def at(self, x_mm: FloatArray, y_mm: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Movement and its standard uncertainty, mm, shaped like x_mm."""
        rows = self.design(x_mm, y_mm)
        u = np.sqrt(np.einsum("ij,jk,ik->i", rows, self.covariance, rows))
        return (rows @ self.coefficients).reshape(x_mm.shape), u.reshape(x_mm.shape)


def fit_movement(
    x_mm: FloatArray, y_mm: FloatArray, dz_mm: FloatArray, u_mm: FloatArray, joint_mm: float
) -> Field:
    """The field through differences of two scans at the same places.

    What a neck can do is `Basis`. How large its loads and jumps are, and how far the points
    really scatter, are those under which the data are likeliest (maximum marginal likelihood);
    offset, tilt, cubic and turn are free. Points over 4.5 deviations off are marked `odd` and
    left out, until no more are; which those are is first asked of an ordinary neck that most
    points agree on (`robust_fit`) and that follows no lump.

    x_mm, y_mm, dz_mm, u_mm: equal shapes, one row a fret or gap, NaN left out. Raises
    ValueError under 8 points.
    """
    good = np.isfinite(dz_mm) & np.isfinite(u_mm)
    if np.count_nonzero(good) < FEWEST_POINTS:
        raise ValueError("a movement needs at least 8 points seen in both scans")
    x, y, dz, u = x_mm[good], y_mm[good], dz_mm[good], u_mm[good]
    basis = Basis.over(x, y, joint_mm)
    sizes = _sizes(basis)
    station = np.nonzero(good)[0]
    first = robust_fit(basis.rows(x, y), dz, u, station, sizes.precision(sizes.start))
    basis = basis.bent(first)
    rows = basis.rows(x, y)
    points = _Points(rows, dz, u, sizes)
    agreed = _settled(points, _near(dz - rows @ first, u * typical(np.abs(dz - rows @ first) / u)))
    fits = [agreed]
    if not agreed.used.all():
        # a neck out of the ordinary, as one whose heel begins early, is not left out by halves
        fits.append(_settled(points, np.ones_like(agreed.used)))
    best = min(fits, key=lambda fit: fit.cost(station))
    odd = np.zeros(dz_mm.shape, dtype=bool)
    odd[good] = ~best.used
    found = best.found
    prior = sizes.precision(found.sizes)
    return Field(basis, found.mean, found.covariance, prior, odd, found.scatter)


@dataclass(frozen=True, slots=True)
class _Points:
    rows: FloatArray
    dz: FloatArray
    u: FloatArray
    sizes: Sizes


@dataclass(frozen=True, slots=True)
class _Fit:
    found: Posterior
    used: NDArray[np.bool_]

    def cost(self, station: NDArray[np.int_]) -> float:
        """A fret or gap with points left out counts as one point at the limit."""
        return self.found.cost + ODD**2 * np.unique(station[~self.used]).size


def _settled(points: _Points, used: NDArray[np.bool_]) -> _Fit:
    """The likeliest fit to the points that lie near it."""
    found = likeliest(points.rows[used], points.dz[used], points.u[used], points.sizes)
    for _ in range(ODD_ROUNDS):
        u_field = np.sqrt(np.einsum("ij,jk,ik->i", points.rows, found.covariance, points.rows))
        wide = np.hypot(max(found.scatter, LEAST_TYPICAL) * points.u, u_field)
        near = _near(points.dz - points.rows @ found.mean, wide)
        if np.array_equal(near, used):
            break
        used = near
        found = likeliest(
            points.rows[used], points.dz[used], points.u[used], points.sizes, found.sizes
        )
    return _Fit(found, used)


def _sizes(basis: Basis) -> Sizes:
    """Free polynomials and the arch at their own size, the loads and jumps at unknown ones."""
    kinds = (-1, 0, 1, -1, 2, 3, -1)
    group = np.repeat(kinds, basis.groups)
    fixed = np.where(np.arange(group.size) == group.size - 1, POISSON, FREE_MM)
    low, start, high = np.full(4, LEAST_MM), np.array(ORDINARY_MM), np.array(LARGEST_MM)
    return Sizes(group, fixed, low, high, start)


def _near(off_mm: FloatArray, u_mm: FloatArray) -> NDArray[np.bool_]:
    """Points that lie where they may; all of them, where too few would be left."""
    near = np.abs(off_mm) <= ODD * u_mm
    return near if np.count_nonzero(near) >= FEWEST_POINTS else np.ones_like(near)
