"""What all passes over one crown say of its flat and its curvature, together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.crowns.grid import NODES_MM, SLOPES, VALUES
from analysis.crowns.radius import BendPrior
from analysis.crowns.sweep import Sweep
from analysis.instrument import FloatArray


@dataclass(frozen=True, slots=True)
class Joint:
    """The passes over each crown as one, at each flat of the grid, [flats, crowns].

    chi2, bend, precision: sum of chi-squares at the curvature that suits all passes, that
    curvature (less its prior mean) and how well it is known, the prior in both. log_det: of
    positions and tops. z_mm: the top, less that of a whole crown; z_by_bend: how it follows the
    curvature. nodes_z_mm, nodes_z_by: [nodes, windows], each pass's top at the crown's curvature.
    """

    chi2: FloatArray
    bend: FloatArray
    precision: FloatArray
    log_det: FloatArray
    z_mm: FloatArray
    z_by_bend: FloatArray
    nodes_z_mm: FloatArray
    nodes_z_by: FloatArray


def together(found: Sweep, crown: NDArray[np.intp], spread: float) -> Joint:
    """Product of the passes' likelihoods: they share curvature and flat, not place and height.

    Given the flat each is a Gaussian in the curvature, so the product has a closed form; the
    prior (spread) that each window was fitted with is kept once. crown: int[windows], from 0.
    """
    count = np.bincount(crown).astype(float)
    order = np.argsort(crown, kind="stable")
    first = np.concatenate([[0], np.cumsum(count)[:-1]]).astype(np.intp)

    def summed(table: FloatArray) -> FloatArray:
        return np.asarray(np.add.reduceat(table[:, order], first, axis=1))

    told = found.precision
    precision = summed(told) - (count - 1.0) / spread**2
    bend = summed(told * found.bend) / precision
    bend_by = summed(told * found.bend_by) / precision
    off = bend[:, crown] - found.bend
    chi2 = summed(found.chi2 + told * off**2) - (count - 1.0) * (bend / spread) ** 2
    chi2_by = summed(found.chi2_by - 2.0 * told * off * found.bend_by)
    z = found.z_mm + found.z_by_bend * off
    z_by = found.z_by + found.z_by_bend * (bend_by[:, crown] - found.bend_by)
    mean = summed(z - z[0]) / count
    mean_by = summed(z_by) / count
    z_by_bend = summed(found.z_by_bend) / count
    return Joint(
        _fine(chi2, chi2_by),
        _fine(bend, bend_by),
        np.exp(_fine(np.log(precision))),
        _fine(summed(found.log_det)),
        _fine(mean, mean_by),
        _fine(z_by_bend),
        z,
        z_by,
    )


def _fine(table: FloatArray, by: FloatArray | None = None) -> FloatArray:
    """[nodes, n] to [flats, n]."""
    slopes = np.gradient(table, NODES_MM, axis=0) if by is None else by
    return np.asarray(VALUES @ table + SLOPES @ slopes)


@dataclass(frozen=True, slots=True)
class Updated:
    """A `Joint` with another prior of the curvature: [flats, crowns]."""

    log_likelihood: FloatArray
    bend: FloatArray
    precision: FloatArray


def updated(joint: Joint, spread: float, prior: BendPrior, scale: FloatArray) -> Updated:
    """Takes the prior of mean 0 and that spread off again and puts this one in its place.

    The likelihood of a flat is that of the best fit times the room the other parameters have
    (Laplace's integral over them). scale: [crowns], what the readings' variance is to what was
    said of it; everything they say counts less by that.
    """
    old, new = 1.0 / spread**2, 1.0 / prior.spread**2
    precision = (joint.precision - old) / scale + new
    off = joint.bend - prior.mean
    pull = new * off - old * joint.bend / scale
    chi2 = (joint.chi2 - old * joint.bend**2) / scale + new * off**2 - pull**2 / precision
    log = -0.5 * (chi2 + np.log(precision) + joint.log_det)
    return Updated(log - log.max(axis=0), joint.bend - pull / precision, precision)
