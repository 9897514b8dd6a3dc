"""The cheapest corner of what is allowed, found without a solver, and proofs that it is."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations

import numpy as np

from .small_necks import Small

Array = np.ndarray


def every_corner(rows: Array, least: Array, cost: Array) -> float:
    """The least cost over all corners: where as many rows as there are changes hold just so."""
    picks = np.array(list(combinations(range(least.size), cost.size)))
    square = rows[picks]
    firm = np.abs(np.linalg.det(square)) > 1e-9
    corners = np.linalg.solve(square[firm], least[picks[firm]][:, :, None])[:, :, 0]
    allowed = np.all(corners @ rows.T >= least - 1e-10, axis=1)
    return float((corners[allowed] @ cost).min())


def pivoted(rows: Array, least: Array, cost: Array) -> Array:
    """The rows that hold just so at the cheapest corner, by the dual simplex method.

    Written as slack = rows @ v - least >= 0, v itself among the rows. Nothing done costs least
    and breaks rows; each pivot takes the most broken and gives it the cheapest change.
    """
    table = np.column_stack([rows, -least])
    price, held = cost.copy(), np.arange(rows.shape[0])[-cost.size :]
    for _ in range(500):
        broken = int(np.argmin(table[:, -1]))
        if table[broken, -1] > -1e-11:
            return held
        row = table[broken].copy()
        ratio = np.where(row[:-1] > 1e-11, price / np.maximum(row[:-1], 1e-11), np.inf)
        j = int(np.argmin(ratio))
        assert np.isfinite(ratio[j]), "nothing allowed mends this row"
        # the change j is what brings this row to zero: x_j = (slack - rest) / row_j
        without = row / row[j]
        without[j] = 0.0
        scale = table[:, j] / row[j]
        table -= np.outer(table[:, j], without)
        table[:, j] = scale
        paid = price[j] / row[j]
        price = price - price[j] * without[:-1]
        price[j] = paid
        held = held.copy()
        held[j] = broken
    raise AssertionError("no corner found")


def exact(matrix: Array, right: list[Fraction]) -> list[Fraction]:
    """Solves a square system in whole fractions."""
    size = len(right)
    table = [[Fraction(float(a)) for a in row] + [b] for row, b in zip(matrix, right, strict=True)]
    for k in range(size):
        pivot = next(i for i in range(k, size) if table[i][k] != 0)
        table[k], table[pivot] = table[pivot], table[k]
        table[k] = [a / table[k][k] for a in table[k]]
        for i in range(size):
            if i != k and table[i][k] != 0:
                factor = table[i][k]
                table[i] = [a - factor * b for a, b in zip(table[i], table[k], strict=True)]
    return [row[-1] for row in table]


def proved_least(case: Small) -> float:
    """The least cost, its proof checked: prices y >= 0 with y @ rows = cost, y @ least = cost @ v.

    Only changes that are allowed at all take part.
    """
    free = case.most > 0.0
    size = int(free.sum())
    rows = np.vstack([case.rows[:, free], -np.eye(size), np.eye(size)])
    least = np.concatenate([case.least, -case.most[free], np.zeros(size)])
    cost = case.cost[free]
    held = pivoted(rows, least, cost)
    v = exact(rows[held], [Fraction(float(b)) for b in least[held]])
    y = exact(rows[held].T, [Fraction(float(c)) for c in cost])
    assert min(y) >= 0
    tiny = Fraction(1, 10**12)
    for row, wanted in zip(rows.tolist(), least.tolist(), strict=True):
        reached = sum((Fraction(a) * b for a, b in zip(row, v, strict=True) if a), Fraction(0))
        assert reached >= Fraction(wanted) - tiny
    return float(sum(Fraction(float(c)) * b for c, b in zip(cost, v, strict=True)))
