"""What one method knows of the rail: values, how they err together, and what it cannot see."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from calibration.passes import FloatArray
from calibration.rail.map import RailMap, numbers, rising, rows_of

#: What an unseen shape beyond the straight line may be of, rms over the rail: a rail may well
#: be bowed by a tenth of a millimetre (common practice, no source).
UNSEEN_MM = 0.05
#: Readings cannot be better than this in a cell, whatever their scatter says.
FINEST_MM = 1e-6
#: A straightedge's error has waves down to a sixth of its length; what is shorter is finish.
LONGEST_ORDER = 12
#: Rms of what drift bends into a scan between its pads, and no pad can tell (own estimate).
BENT_BY_DRIFT_MM = 5e-5
#: Modes of the joint error kept in a document, of those that rise by WORTH over the cells' own
#: error; what the rest adds goes to the cells' own.
KEPT_MODES, WORTH = 40, 0.05


@dataclass(frozen=True, slots=True)
class RailEstimate:
    """The rail's error at cells, apart from the shapes the method is blind to.

    x_mm, r_mm: float[cells]. covariance_mm2: float[cells, cells]. free: float[shapes, cells],
    orthonormal; any multiple of them may be added to r. r and covariance hold none of them:
    they are taken off by plain least squares over the cells. unseen: the same in words.
    """

    method: str
    x_mm: FloatArray
    r_mm: FloatArray
    covariance_mm2: FloatArray
    free: FloatArray
    unseen: tuple[str, ...]

    @property
    def u_seen_mm(self) -> FloatArray:
        """Standard uncertainty apart from the free shapes, float[cells]."""
        return np.sqrt(np.clip(np.diag(self.covariance_mm2), 0.0, None))

    def map(self) -> RailMap:
        """For use by itself: u holds UNSEEN_MM of every free shape but the straight line's."""
        blind = UNSEEN_MM**2 * self.x_mm.size * np.sum(self._blind() ** 2, axis=0)
        return RailMap(self.x_mm, self.r_mm, np.sqrt(self.u_seen_mm**2 + blind))

    def _blind(self) -> FloatArray:
        """The free shapes less the straight line's part, float[shapes, cells]."""
        return without(self.free, orthonormal(polynomials(self.x_mm, 1)))

    def to_document(self) -> dict[str, Any]:
        """Plain numbers, micrometres. Variances exactly, their joint part by its largest modes."""
        values, vectors = np.linalg.eigh(self.covariance_mm2)
        noise2 = float(np.median(values))
        excess = np.clip(values - noise2, 0.0, None)
        kept = np.flatnonzero(excess > WORTH * noise2)[-KEPT_MODES:]
        modes = (vectors[:, kept] * np.sqrt(excess[kept])).T
        own = np.clip(np.diag(self.covariance_mm2) - np.sum(modes**2, axis=0), 0.0, None)
        return {
            "method": self.method,
            "x_mm": self.x_mm.tolist(),
            "r_um": (1e3 * self.r_mm).tolist(),
            "own_um": (1e3 * np.sqrt(own)).tolist(),
            "modes_um": (1e3 * modes).tolist(),
            "free": self.free.tolist(),
            "unseen": list(self.unseen),
        }

    @classmethod
    def from_document(cls, document: Mapping[str, Any]) -> RailEstimate:
        """Raises KeyError for a missing key, ValueError where the lists are no estimate."""
        x = rising(document["x_mm"])
        r, own = (1e-3 * numbers(document[key], x.shape) for key in ("r_um", "own_um"))
        modes = 1e-3 * rows_of(document["modes_um"], x.size)
        free = rows_of(document["free"], x.size)
        joint = np.diag(own**2) + modes.T @ modes
        unseen = [str(word) for word in document["unseen"]]
        return estimate(str(document["method"]), x, r, joint, free, unseen)


def estimate(
    method: str,
    x_mm: FloatArray,
    r_mm: FloatArray,
    covariance_mm2: FloatArray,
    free: FloatArray,
    unseen: Sequence[str],
) -> RailEstimate:
    """An estimate with its free shapes, float[shapes, cells], taken off values and covariance."""
    basis = orthonormal(free)
    joint = covariance_mm2 + FINEST_MM**2 * np.eye(x_mm.size)
    return RailEstimate(
        method, x_mm, without(r_mm, basis), without_both(joint, basis), basis, tuple(unseen)
    )


def polynomials(x_mm: FloatArray, degree: int) -> FloatArray:
    """1, x, ... x^degree over positions scaled to -1..1; float[degree + 1, cells]."""
    middle, half = 0.5 * (x_mm[0] + x_mm[-1]), 0.5 * (x_mm[-1] - x_mm[0])
    return np.asarray(np.polynomial.legendre.legvander((x_mm - middle) / half, degree).T)


def orthonormal(shapes: FloatArray) -> FloatArray:
    """Rows that span the same; float[shapes, cells]."""
    return np.asarray(np.linalg.qr(shapes.T)[0].T)


def orthonormal_rank(shapes: FloatArray) -> FloatArray:
    """Orthonormal rows spanning the same, dependent ones left out; float[rank, cells]."""
    _, size, rows = np.linalg.svd(shapes, full_matrices=False)
    return np.asarray(rows[size > 1e-6 * max(float(size.max(initial=0.0)), 1e-6)])


def without(values: FloatArray, basis: FloatArray) -> FloatArray:
    """Values with the orthonormal basis' shapes taken off."""
    return np.asarray(values - (values @ basis.T) @ basis)


def without_both(matrix: FloatArray, basis: FloatArray) -> FloatArray:
    """A symmetric matrix with the basis' shapes taken off on both sides."""
    return without(without(matrix, basis).T, basis)


def independent(u_mm: FloatArray) -> FloatArray:
    """Covariance of cells that err each by itself."""
    return np.diag(u_mm**2)


def long_covariance(x_mm: FloatArray, u_mm: float) -> FloatArray:
    """Covariance of a bent shape that departs by u, rms over its length, from its best line.

    Legendre shapes of orders 2 to LONGEST_ORDER, each by itself, with variances that fall as
    1 / order²: two fifths of the whole is bow. They are held independent on purpose: under a
    smooth kernel the waves that another method sees would tell the bow, which they do not.
    """
    shapes = orthonormal(polynomials(x_mm, LONGEST_ORDER))[2:]
    share = np.arange(2.0, LONGEST_ORDER + 1.0) ** -2.0
    variance = u_mm**2 * x_mm.size * share / np.sum(share)
    return np.asarray((shapes.T * variance) @ shapes)


def drift_covariance(x_mm: FloatArray) -> FloatArray:
    """Covariance of what every scan errs by, however many its readings."""
    return long_covariance(x_mm, BENT_BY_DRIFT_MM)


def short_covariance(x_mm: FloatArray, u_mm: float, length_mm: float) -> FloatArray:
    """Covariance of a rough shape that departs by u and forgets itself over `length_mm`."""
    return np.asarray(u_mm**2 * np.exp(-np.abs(x_mm[:, None] - x_mm[None, :]) / length_mm))
