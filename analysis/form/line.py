"""A smooth line along one string's tops: what the neck does, apart from its single frets."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray

#: Huber's weights: 95 % efficient on normal scatter (Huber 1964), and, unlike weights that
#: fall to nothing, with one answer that moves little when a top does.
HUBER = 1.345
ROUNDS = 20
#: Tops scatter about the smooth line by this at the least, mm: a still neck is no fault.
LEAST_SCATTER_MM = 1e-4
#: With fewer tops before the joint there is no telling a bend from a fret.
FEWEST_TOPS = 7
#: t - t³ is this at its highest, t = 1 / sqrt(3).
CUBIC_PEAK = 2.0 / (3.0 * np.sqrt(3.0))


@dataclass(frozen=True, slots=True)
class Line:
    """Through the tops of one string.

    value_mm: float[tops]. terms: float[coefficients], a to e of `smooth_line`. design:
    float[tops, coefficients]. rows: float[coefficients, tops], how they answer to each top.
    scatter_mm: of the tops about the line, robust.
    """

    value_mm: FloatArray
    terms: FloatArray
    design: FloatArray
    rows: FloatArray
    scatter_mm: float

    def u_of_scatter_mm(self, weights: FloatArray) -> FloatArray:
        """What the frets' own scatter adds to the standard uncertainty of weights @ tops.

        weights: float[..., tops]. The line is what the frets scatter about: another set of frets
        on the same neck would lay it elsewhere by so much.
        """
        return np.asarray(self.scatter_mm * np.linalg.norm(weights, axis=-1))


def smooth_line(x_mm: FloatArray, z_mm: FloatArray, joint: int) -> Line | None:
    """Fitted robustly to the tops of one string; NaN is left out. None where too few are seen.

    With t = -1 at fret 1 and 1 at the joint:
    a + b t + c (1 - t²) + d (t - t³) up to the joint, a + b t + e (t - 1) past it. The chord
    is a + b t; c is the bow, even about the middle, and d the odd part, both nothing at the
    chord's ends; e turns the line past the joint, and is left out where no top is seen there.
    Huber's M-estimate with a scale of 1.4826 median |deviation|. Its answer to a top is that of
    least squares over the tops within Huber's limit; those past it pull, but no harder for being
    further off.

    x_mm, z_mm: float[frets]; joint: the body-joint fret.
    """
    middle, half = 0.5 * (x_mm[0] + x_mm[joint - 1]), 0.5 * (x_mm[joint - 1] - x_mm[0])
    t = (x_mm - middle) / half
    inside = np.arange(x_mm.size) < joint
    seen = np.isfinite(z_mm)
    if np.count_nonzero(seen & inside) < FEWEST_TOPS:
        return None
    columns = [
        np.ones_like(t),
        t,
        np.where(inside, 1.0 - t**2, 0.0),
        np.where(inside, t - t**3, 0.0),
    ]
    if np.any(seen & ~inside):
        columns.append(np.where(inside, 0.0, t - 1.0))
    design = np.stack(columns, axis=1)
    terms, within, scatter = _huber(design[seen], z_mm[seen])
    rows = np.zeros((design.shape[1], t.size))
    near = np.flatnonzero(seen)[within]
    rows[:, near] = np.linalg.pinv(design[near])
    return Line(design @ terms, terms, design, rows, scatter)


def _huber(design: FloatArray, z: FloatArray) -> tuple[FloatArray, NDArray[np.bool_], float]:
    """(coefficients, which tops lie within the limit, scatter)."""
    weight, scatter = np.ones(z.size), LEAST_SCATTER_MM
    for turn in range(ROUNDS):
        weighted = design * weight[:, None]
        terms = np.linalg.pinv(weighted.T @ design) @ (weighted.T @ z)
        off = np.abs(z - design @ terms)
        if turn < ROUNDS // 2:
            # then held still, so that the weights settle
            scatter = max(1.4826 * float(np.median(off)), LEAST_SCATTER_MM)
        weight = np.minimum(1.0, HUBER * scatter / np.maximum(off, 1e-12))
    return terms, weight >= 1.0, scatter
