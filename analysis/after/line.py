"""A straight line through cuts, errors in both variables, sessions that differ."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray

ROUNDS = 50
#: Micrometres, and shares: nearer than this is there.
CLOSE = 1e-10
#: Keeps the logarithm of believing nothing finite.
TINY = 1e-300


@dataclass(frozen=True, slots=True)
class Cuts:
    """Cuts of one tool in one metal, µm, each float[cuts]; session: int[cuts], from 0 on.

    x, y: meant and achieved. variance_x, variance_y: of what is known of them, µm².
    """

    x: FloatArray
    y: FloatArray
    variance_x: FloatArray
    variance_y: FloatArray
    session: NDArray[np.int_]

    def only(self, chosen: NDArray[np.bool_]) -> Cuts:
        """The chosen ones; sessions are numbered anew."""
        _, session = np.unique(self.session[chosen], return_inverse=True)
        return Cuts(
            self.x[chosen], self.y[chosen], self.variance_x[chosen], self.variance_y[chosen],
            session,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Beliefs:
    """What is thought before the data, several ways at once: normal, each number by itself.

    mean: float[2], (offset, gain) of the line; sd: float[ways, 2], how well it is known.
    session_sd: float[ways, 2], how far offset and gain of one session lie off the line's.
    """

    mean: FloatArray
    sd: FloatArray
    session_sd: FloatArray


@dataclass(frozen=True, slots=True)
class Lines:
    """Normal posteriors of (offset, gain), one for each way of believing.

    mean: float[ways, 2]; covariance: float[ways, 2, 2]; log_evidence: float[ways], of the data,
    up to a constant.
    """

    mean: FloatArray
    covariance: FloatArray
    log_evidence: FloatArray


def lines_through(cuts: Cuts, scatter_um: float, beliefs: Beliefs, start: FloatArray) -> Lines:
    """y = offset + gain x, where every session has an offset and a gain of its own about these.

    scatter_um: of single cuts, beside their measuring. start: (offset, gain) to begin at.
    Errors in x by York's equations (York et al., Am. J. Phys. 72 (2004) 367): the point of the
    line that each cut most likely belongs to takes its x, the line being that of the first way;
    believing nothing, sessions alike, it is his fit.
    """
    at = start
    lines = _lines(_sums(cuts, scatter_um, at), beliefs)
    for _ in range(ROUNDS if np.any(cuts.variance_x > 0) else 0):
        if np.max(np.abs(lines.mean[0] - at)) < CLOSE:
            break
        at = lines.mean[0]
        lines = _lines(_sums(cuts, scatter_um, at), beliefs)
    return lines


@dataclass(frozen=True, slots=True)
class _Sums:
    """All that a line needs of the cuts: weighted sums a session, and over all."""

    a: FloatArray
    b: FloatArray
    square: float
    log_det: float


def _sums(cuts: Cuts, scatter_um: float, at: FloatArray) -> _Sums:
    offset, gain = float(at[0]), float(at[1])
    variance = cuts.variance_y + scatter_um**2 + gain**2 * cuts.variance_x
    weight = 1.0 / np.maximum(variance, 1e-12)
    # along the line, by what x may be off: the same residual, seen from the adjusted point
    shift = weight * gain * cuts.variance_x * (cuts.y - offset - gain * cuts.x)
    x, y = cuts.x + shift, cuts.y + gain * shift
    one, wx, wy, wxx, wxy = (
        np.bincount(cuts.session, weight * each) for each in (np.ones_like(x), x, y, x * x, x * y)
    )
    a = np.asarray(np.stack([one, wx, wx, wxx], axis=-1).reshape(-1, 2, 2), dtype=float)
    square = float(np.sum(weight * y**2))
    return _Sums(a, np.stack([wy, wxy], axis=-1), square, -float(np.sum(np.log(weight))))


def _lines(sums: _Sums, beliefs: Beliefs) -> Lines:
    """Linear and normal throughout; the sessions' own lines are integrated out (Woodbury)."""
    # [ways, sessions, 2, 2]
    spread = (beliefs.session_sd**2)[:, None, :, None] * np.eye(2)
    widened = np.eye(2) + sums.a @ spread
    inner = spread @ np.linalg.inv(widened)
    precision = np.sum(sums.a - sums.a @ inner @ sums.a, axis=1)
    taken = np.einsum("wsij,sj->wsi", inner, sums.b)
    pull = np.sum(sums.b - np.einsum("sij,wsj->wsi", sums.a, taken), axis=1)
    believed = beliefs.sd**-2.0
    total = precision + believed[:, :, None] * np.eye(2)
    covariance = np.linalg.inv(total)
    mean = np.einsum("wij,wj->wi", covariance, pull + believed * beliefs.mean)
    square = sums.square - np.einsum("si,wsi->w", sums.b, taken)
    square = square + believed @ beliefs.mean**2 - np.einsum("wi,wij,wj->w", mean, total, mean)
    log_det = sums.log_det + np.sum(np.log(np.linalg.det(widened)), axis=1)
    log_det = log_det + np.log(np.linalg.det(total)) - np.sum(np.log(believed + TINY), axis=1)
    return Lines(mean, covariance, -0.5 * (log_det + square))
