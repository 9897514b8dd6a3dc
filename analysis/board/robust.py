"""Parabolas laid robustly through blocks of readings, many at once: an MM-estimate (Yohai 1987).

Of many lines and bends through pairs of blocks the one that most blocks support is taken first;
then least squares reweighted by Tukey's bisquare.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray

#: Tukey's bisquare: 95 % as good as least squares where nothing is wild.
BISQUARE = 4.685
#: Mean square of normal scatter by those weights, of its variance (from its integral).
BISQUARE_SHARE = 0.828
#: Blocks counted from either end of a row through which first lines are tried.
TRIED = (0, 3, 8)
#: Bends tried, in units of what is usual: in between, the reweighting finds the way.
BENDS = (-1.2, 0.0, 1.2)
#: Blocks in the outer quarters count double at first: an inlay ends before the fret does, and
#: the wood beside the fret is what its height is measured from.
OUTER, OUTER_WEIGHT = 0.5, 2.0
#: Blocks are never taken to be better than this, mm: lacquer and the numbers themselves.
LEAST_MM = 3e-4
#: The scale is where this share of a row's blocks lies nearer than `HALF_NORMAL` deviations:
#: an inlay over half the gap does not reach it.
INNER, HALF_NORMAL = 0.3, 0.3853


@dataclass(frozen=True, slots=True)
class Rows:
    """One row a parabola: s, z, weight [rows, blocks], weight 0 where there is nothing.

    s runs over -1 to 1 or so; bend_mm: [rows], standard deviation of what s^2 is worth;
    width_mm: [rows], of a block.
    """

    s: FloatArray
    z: FloatArray
    weight: FloatArray
    bend_mm: FloatArray
    width_mm: FloatArray


@dataclass(frozen=True, slots=True)
class Parabolas:
    """z = c0 + c1 s + c2 s^2: coefficients [rows, 3]; covariance [rows, 3, 3].

    off_mm: [rows, blocks], block less parabola; trust: [rows, blocks], 1 for a block on the
    parabola, 0 for one left out; grain_mm: over what length along a row its scatter is alike.
    """

    coefficients: FloatArray
    covariance: FloatArray
    off_mm: FloatArray
    trust: FloatArray
    grain_mm: float

    def at(self, s: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Height at s [rows] and its standard uncertainty."""
        return self._along(np.stack([np.ones_like(s), s, s**2], axis=-1))

    def slope_at(self, s: FloatArray) -> FloatArray:
        """dz/ds, [rows]."""
        return self._along(np.stack([np.zeros_like(s), np.ones_like(s), 2.0 * s], axis=-1))[0]

    def _along(self, row: FloatArray) -> tuple[FloatArray, FloatArray]:
        value = np.sum(row * self.coefficients, axis=-1)
        variance = np.einsum("gi,gij,gj->g", row, self.covariance, row)
        return value, np.sqrt(np.maximum(variance, 0.0))


def first_offsets(rows: Rows) -> FloatArray:
    """[rows, blocks]: distances from the line or bend, of those tried, that most blocks support."""
    last = rows.s.shape[1] - 1
    unit = 1.0 / (BISQUARE * np.maximum(_rough(rows), LEAST_MM))
    weight = rows.weight * np.where(np.abs(rows.s) > OUTER, OUTER_WEIGHT, 1.0)
    best = np.full(rows.s.shape[0], np.inf)
    found = np.zeros_like(rows.z)
    for bend in BENDS:
        bent = rows.z - bend * rows.bend_mm[:, None] * rows.s**2
        for i in TRIED:
            for j in last - np.array(TRIED):
                both = (rows.weight[:, i] > 0) & (rows.weight[:, j] > 0)
                run = np.where(both, rows.s[:, j] - rows.s[:, i], 1.0)
                slope = (bent[:, j] - bent[:, i]) / run
                off = bent - (bent[:, i] - slope * rows.s[:, i])[:, None] - slope[:, None] * rows.s
                near = np.minimum((off * unit[:, None]) ** 2, 1.0)
                lost = np.where(both, np.einsum("gb,gb->g", weight, near), np.inf)
                better = lost < best
                best = np.where(better, lost, best)
                found[better] = off[better]
    return found


def reweighted(
    rows: Rows, off: FloatArray, rounds: int, grain_mm: float | None = None
) -> Parabolas:
    """From the distances to a first line: parabolas by reweighting, with a prior on the bend.

    The covariance is that of weighted least squares, A^-1 B A^-1 with the weights w in A and w^2
    in B, for blocks whose scatter is alike over grain_mm along them: correlation r between
    neighbours leaves n (1 - r) / (1 + r) of n blocks. Without grain_mm it is found from the rows.
    """
    rough = _rough(rows)
    for _ in range(rounds):
        scale = _scale(rows, off, rough)
        weight = rows.weight * _trust(off, scale)
        prior = (scale / rows.bend_mm) ** 2
        normal = _normal(weight, rows.s, prior)
        moved = weight * rows.z
        wanted = np.stack([_sum(moved), _sum(moved, rows.s), _sum(moved * rows.s, rows.s)], axis=1)
        fit = np.linalg.solve(normal, wanted[:, :, None])[:, :, 0]
        off = rows.z - (fit[:, 0:1] + rows.s * (fit[:, 1:2] + rows.s * fit[:, 2:3]))
    trust = _trust(off, scale)
    weight = rows.weight * trust
    grain = _grain_mm(weight, off, rows.width_mm) if grain_mm is None else grain_mm
    common = _common(rows.width_mm, grain)
    scatter = _scatter(weight, off, common)
    inverse = np.linalg.inv(normal)
    middle = common[:, None, None] * _normal(weight**2, rows.s, 0.0 * prior)
    middle[:, 2, 2] += prior
    covariance = (scatter**2)[:, None, None] * (inverse @ middle @ inverse)
    return Parabolas(fit, covariance, off, trust, grain)


def _normal(weight: FloatArray, s: FloatArray, prior: FloatArray) -> FloatArray:
    """[rows, 3, 3]: sums of w s^(i + j), the prior on the last."""
    by_s = weight * s
    by_s2 = by_s * s
    sums = np.stack(
        [_sum(weight), _sum(by_s), _sum(by_s2), _sum(by_s2, s), _sum(by_s2 * s, s)], axis=1
    )
    normal = sums[:, np.add.outer(np.arange(3), np.arange(3))] + 1e-9 * np.eye(3)
    normal[:, 2, 2] += prior
    return np.asarray(normal)


def _sum(values: FloatArray, times: FloatArray | None = None) -> FloatArray:
    """[rows]: of the products with `times`, where given."""
    return np.asarray(values.sum(axis=1) if times is None else np.einsum("gb,gb->g", values, times))


def _rough(rows: Rows) -> FloatArray:
    """Scatter of one block from second differences, which neither slope, bend nor a few steps
    reach: those of white noise spread by sqrt(6). 0 where a row has too few."""
    curl = np.abs(np.diff(np.where(rows.weight > 0, rows.z, np.nan), 2, axis=1))
    return np.asarray(_inner(curl, 0.5) / (0.6745 * np.sqrt(6.0)))


def _scale(rows: Rows, off: FloatArray, rough: FloatArray) -> FloatArray:
    inner = _inner(np.where(rows.weight > 0, np.abs(off), np.nan), INNER) / HALF_NORMAL
    return np.asarray(np.maximum(np.maximum(inner, rough), LEAST_MM))


def _inner(values: FloatArray, share: float) -> FloatArray:
    """[rows]: the value that this share of a row's lie below, 0 where it has none."""
    ordered = np.sort(values, axis=1)
    at = (share * np.count_nonzero(np.isfinite(ordered), axis=1)).astype(int)
    return np.nan_to_num(np.take_along_axis(ordered, at[:, None], axis=1)[:, 0])


def _trust(off: FloatArray, scale: FloatArray) -> FloatArray:
    part = (off / (BISQUARE * scale[:, None])) ** 2
    return np.asarray(np.maximum(1.0 - part, 0.0) ** 2)


def _scatter(weight: FloatArray, off: FloatArray, common: FloatArray) -> FloatArray:
    """Standard deviation of one block. Allowed for: the bisquare's share, and that three
    parameters take 3 parts of as many as there are independent blocks, three quarters at most."""
    total = np.sum(weight, axis=1)
    free = total * np.maximum(1.0 - 3.0 * common / np.maximum(total, 1e-9), 0.25)
    return np.asarray(np.sqrt(np.sum(weight * off**2, axis=1) / free / BISQUARE_SHARE))


def _grain_mm(weight: FloatArray, off: FloatArray, width_mm: FloatArray) -> float:
    """Over what length the scatter along a row is alike: r = exp(-width / length) at blocks of
    the wider half of rows, by their median. A fit makes r look smaller by three over its blocks.
    """
    wide = width_mm >= np.median(width_mm)
    moved = (weight * off)[wide]
    r = _sum(moved[:, 1:], moved[:, :-1]) / np.maximum(_sum(moved, moved), 1e-18)
    typical = np.median(r + 3.0 / np.maximum(np.sum(weight[wide] > 0, axis=1), 3))
    return float(np.median(width_mm[wide]) / -np.log(np.clip(typical, 1e-9, 0.8)))


def _common(width_mm: FloatArray, grain_mm: float) -> FloatArray:
    """[rows]: (1 + r) / (1 - r), by how much blocks alike over grain_mm count less."""
    r = np.exp(-width_mm / max(grain_mm, 1e-6))
    return np.asarray((1.0 + r) / (1.0 - r))
