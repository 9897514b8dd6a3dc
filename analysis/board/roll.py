"""How the board's section turns along the neck, from one roll a gap: smooth, but for the joint."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import interp1d

from analysis.instrument import FloatArray

#: Nodes the curve is kept at; straight between them it is good to far under a microradian.
NODE_MM = 10.0
#: How much the roll may wander, in the gaps' own scatter over the neck's length: from nothing
#: to a curve through every gap.
WANDERS = np.geomspace(0.1, 3000.0, 16)
#: Rolls that agree better than this do so by chance, mm/mm: a nanometre across the board.
FINEST = 1e-7


@dataclass(frozen=True, slots=True)
class Roll:
    """dz/dy of the board's middle, mm/mm: x_mm, value: float[nodes]; covariance: [nodes, nodes].

    The covariance is that of the scan alone. Past the nodes the outermost value is held.
    """

    x_mm: FloatArray
    value: FloatArray
    covariance: FloatArray

    def at(self, x_mm: FloatArray) -> FloatArray:
        """Shaped like x_mm."""
        return np.asarray(np.interp(x_mm, self.x_mm, self.value))

    def between(self, from_mm: float, to_mm: float) -> tuple[float, float]:
        """Roll at one place less that at another, and its standard uncertainty, mm/mm."""
        places = np.clip([from_mm, to_mm], self.x_mm[0], self.x_mm[-1])
        at = interp1d(self.x_mm, np.eye(self.x_mm.size), axis=0)(places)
        row = at[1] - at[0]
        return float(row @ self.value), float(np.sqrt(max(row @ self.covariance @ row, 0.0)))


def smooth_roll(x_mm: FloatArray, roll: FloatArray, u: FloatArray, joint_mm: float) -> Roll:
    """The curve through the rolls of single gaps.

    A straight line and a hinge at the joint, where the body takes hold of the neck, are free;
    about them the curve is an integrated random walk, the prior whose mean is the cubic
    smoothing spline (Wahba, Spline Models for Observational Data, 1990, 1.3). How stiff it is
    and how far the gaps scatter is not set: their likelihood is averaged over every stiffness
    in WANDERS, all alike, the scatter integrated out.

    x_mm, roll, u: float[gaps], finite, x_mm rising; of u only the ratios count. One gap is a
    roll with nothing known of its change: u is a radian.
    """
    length = max(float(x_mm[-1]), 1.0)
    nodes = np.unique(np.append(np.arange(0.0, 1.06 * length, NODE_MM), joint_mm))
    if x_mm.size < 2:
        return Roll(nodes, np.full(nodes.size, roll.mean()), np.eye(nodes.size))
    free = _free(x_mm, x_mm, joint_mm)
    own = (u / np.sqrt(np.mean(u**2))) ** 2
    fits = [
        _fitted(
            free, own, wander, roll, x_mm / length, _free(nodes, x_mm, joint_mm), nodes / length
        )
        for wander in (WANDERS if x_mm.size > free.shape[1] + 2 else WANDERS[:1])
    ]
    log_weight = np.array([fit[0] for fit in fits])
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    means = np.array([fit[1] for fit in fits])
    mean = weight @ means
    within = np.tensordot(weight, np.array([fit[2] for fit in fits]), axes=1)
    apart = (weight[:, None] * (means - mean)).T @ (means - mean)
    return Roll(nodes, mean, within + apart)


def _free(x_mm: FloatArray, seen_mm: FloatArray, joint_mm: float) -> FloatArray:
    """Columns of the line, and of the hinge where two gaps past the joint show one."""
    columns = [np.ones_like(x_mm), x_mm / 100.0]
    if np.count_nonzero(seen_mm > joint_mm) > 1 and np.count_nonzero(seen_mm < joint_mm) > 1:
        columns.append(np.clip(x_mm - joint_mm, 0.0, None) / 100.0)
    return np.stack(columns, axis=1)


def _fitted(
    free: FloatArray,
    own: FloatArray,
    wander: float,
    roll: FloatArray,
    x: FloatArray,
    free_at: FloatArray,
    at: FloatArray,
) -> tuple[float, FloatArray, FloatArray]:
    """(log likelihood, mean and covariance at the nodes) under one stiffness."""
    joint = np.diag(own) + wander**2 * _walk(x, x)
    inverse = np.linalg.inv(joint)
    normal = free.T @ inverse @ free
    solve = np.linalg.inv(normal)
    line = solve @ free.T @ inverse @ roll
    off = roll - free @ line
    left = max(roll.size - free.shape[1], 1)
    scatter2 = (float(off @ inverse @ off) + left * FINEST**2) / left
    logs = [np.linalg.slogdet(matrix)[1] for matrix in (joint, normal)]
    cross = wander**2 * _walk(at, x)
    lifted = free_at - cross @ inverse @ free
    covariance = wander**2 * _walk(at, at) - cross @ inverse @ cross.T + lifted @ solve @ lifted.T
    # the scatter is itself known from so few: Student's variance
    wide = left / (left - 2.0) if left > 2 else 3.0
    weight = -0.5 * (sum(logs) + left * np.log(scatter2))
    return weight, free_at @ line + cross @ inverse @ off, scatter2 * wide * covariance


def _walk(a: FloatArray, b: FloatArray) -> FloatArray:
    """Covariance of an integrated random walk from 0: m² (3 M - m) / 6, m the lesser of two."""
    low, high = np.minimum(a[:, None], b[None, :]), np.maximum(a[:, None], b[None, :])
    return np.asarray(low**2 * (3.0 * high - low) / 6.0)
