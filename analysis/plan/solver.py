"""A linear programme that stays warm: changed a little, it is solved again from where it was."""

from __future__ import annotations

from typing import Any

import highspy
import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from analysis.instrument import FloatArray

IntArray = NDArray[np.int_]
INFINITE = highspy.kHighsInf


class _Quiet(highspy.Highs):
    """The solver without its callbacks, for setting those up prints a banner."""

    def __init__(self) -> None:
        super(highspy.Highs, self).__init__()


class WarmProgramme:
    """min cost @ v over columns between bounds, rows between bounds; rows may be added.

    Solved by the dual simplex method from the last basis, which stays dual feasible while only
    bounds change and rows are added.
    """

    def __init__(self, cost: FloatArray, rows: sparse.csr_array) -> None:
        self._solver = _solver()
        self._columns = np.arange(cost.size, dtype=np.int32)
        self._solver.addVars(cost.size, np.zeros(cost.size), np.full(cost.size, INFINITE))
        self.cost_columns(cost)
        self.rows = 0
        self.add_rows(rows, np.full(rows.shape[0], -INFINITE), np.full(rows.shape[0], INFINITE))

    def add_rows(self, rows: sparse.csr_array, low: FloatArray, high: FloatArray) -> None:
        """low, high: bounds of each new row."""
        self._solver.addRows(
            rows.shape[0],
            low,
            high,
            rows.nnz,
            rows.indptr[:-1].astype(np.int32),
            rows.indices.astype(np.int32),
            rows.data,
        )
        self.rows += rows.shape[0]

    def add_columns(self, cost: FloatArray, new: sparse.csr_array) -> None:
        """new: [new columns, rows], each never negative."""
        self._solver.addCols(
            cost.size,
            cost,
            np.zeros(cost.size),
            np.full(cost.size, INFINITE),
            new.nnz,
            new.indptr[:-1].astype(np.int32),
            new.indices.astype(np.int32),
            new.data,
        )
        self._columns = np.arange(self._columns.size + cost.size, dtype=np.int32)

    def bound_columns(self, low: FloatArray, high: FloatArray) -> None:
        self._solver.changeColsBounds(self._columns.size, self._columns, low, high)

    def cost_columns(self, cost: FloatArray) -> None:
        self._solver.changeColsCost(self._columns.size, self._columns, cost)

    def bound_rows(self, first: int, low: FloatArray, high: FloatArray) -> None:
        """From row `first` on."""
        rows = np.arange(first, first + low.size, dtype=np.int32)
        self._solver.changeRowsBounds(rows.size, rows, low, high)

    def solve(self) -> FloatArray:
        """The best v. Raises RuntimeError where the solver finds none, which bounds that leave
        no room can bring about."""
        self._solver.run()
        status = self._solver.getModelStatus()
        if status != highspy.HighsModelStatus.kOptimal:
            raise RuntimeError(f"the linear programme failed: {status}")
        return np.asarray(self._solver.getSolution().col_value)

    def row_prices(self) -> FloatArray:
        """What one more of each row's bound costs, [rows]; `prices` by what was minimised."""
        return np.asarray(self._solver.getSolution().row_dual)

    def prices(self, cost: FloatArray) -> FloatArray:
        """What one more of each row's bound costs by `cost`, at the corner just found, [rows].

        cost: [columns], not necessarily what was minimised. y = B^-T c_B with the basis B.
        """
        _, basic = self._solver.getBasicVariables()
        basic = np.asarray(basic)
        own = np.where(basic >= 0, cost[np.maximum(basic, 0)], 0.0)
        _, prices = self._solver.getBasisTransposeSolve(own)
        return np.asarray(prices)


def _solver() -> Any:
    """Its type hints lack half of what it does."""
    solver = _Quiet()
    for name, value in (
        ("output_flag", False),
        ("presolve", "off"),
        ("solver", "simplex"),
        ("threads", 1),
    ):
        solver.setOptionValue(name, value)
    return solver
