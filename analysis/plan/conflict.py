"""Which demands cannot be met together: small sets, none of whose members can be spared."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from analysis.instrument import FloatArray
from analysis.plan.demands import Demands
from analysis.plan.solver import INFINITE, WarmProgramme

BoolArray = NDArray[np.bool_]

#: What can be met by giving way everywhere by less than this can be met, mm.
MET_MM = 1e-5
#: A set short by less than this in all is not in the way, mm.
SHORT_MM = 1e-4
#: Members of the first set that others are looked for around.
MOST_ANCHORS = 2
#: A set not yet thinned out may be this much larger than the best before it is passed over.
MOST_LARGER = 2
#: So often the weights follow the answer before it: more found nothing smaller in tests.
ROUNDS = 3
#: A margin is missing where leaving it out lowers the cost by more than this.
BROKEN = 1e-6
#: A weight this small against the largest is none.
NONE = 1e-7


class Conflicts:
    """The other side of G v >= h, v >= 0 (Farkas): it cannot be met where some y >= 0 has
    y G <= 0 and y h > 0, and what carries such a y cannot be met together.

    The least y @ cost with y h = 1 lies on a corner, whose members can hardly be spared
    (Gleeson and Ryan 1990), but it prefers what is most in conflict to what is few. So the least
    sum of y is sought once more with one member's y held at 1 and any conflict enough, its cost
    then raised where y is small (reweighted l1, Candes, Wakin and Boyd 2008); and what can still
    be spared is left out one by one. The smallest set of all is not promised.
    """

    def __init__(self, demands: Demands, free: BoolArray | None = None) -> None:
        """free: [columns], those that may be negative too."""
        self._demands = demands
        columns = demands.matrix.shape[1]
        count = demands.margins.string.size
        self._alike = np.ones(demands.size)
        # the limits, then what pays for there being no conflict, then margins as they are wanted
        self._members = np.append(np.arange(count, demands.size), demands.size)
        limits = sparse.vstack([demands.matrix[count:], sparse.csr_array((1, columns))])
        least = np.append(demands.least_mm[count:], 1.0)
        rows = _beside(limits, least).T
        self._solver = WarmProgramme(self._priced(self._alike), sparse.csr_array(rows))
        low = np.full(columns, -INFINITE) if free is None else np.where(free, 0.0, -INFINITE)
        self._solver.bound_rows(0, low, np.zeros(columns))
        self._last = columns
        self._margins = sparse.csr_array(demands.matrix[:count])
        first = demands.margins.first
        self._place = np.repeat(np.arange(first.size), np.diff(np.append(first, count)))

    def found(self, among: BoolArray) -> BoolArray | None:
        """A small set that cannot be met, [members]; None where all can be.

        among: [members], those that are asked.
        """
        y = self.weights(among)
        if y is None:
            return None
        best = self._irreducible(y)
        single = self._single(among)
        if single is not None:
            return min(best, single, key=np.count_nonzero)
        for anchor in self._anchors(best):
            sparse_y = self._sparse(among, anchor)
            if np.count_nonzero(_carrying(sparse_y)) < MOST_LARGER * np.count_nonzero(best):
                best = min(best, self._irreducible(sparse_y), key=np.count_nonzero)
        return best

    def weights(self, among: BoolArray, cost: FloatArray | None = None) -> FloatArray | None:
        """The y of least cost, [members]; None where all can be met.

        cost: [members], how much of each is given for one unit of giving way; then 1 / (y @ cost)
        is how many units everything needs. None: a millimetre of each.
        """
        self._solver.bound_rows(self._last, np.ones(1), np.ones(1))
        y = self._complete(among, self._alike if cost is None else cost, None)
        return None if y[-1] > 0.5 else y[:-1]

    def _single(self, among: BoolArray) -> BoolArray | None:
        """A set with one margin, where the columns' own bounds exclude it: seen without solving."""
        matrix, least, count = self._demands.matrix, self._demands.least_mm, self._place.size
        columns = matrix.shape[1]
        most = np.where(among[-columns:], -least[-columns:], INFINITE)
        helps = self._margins.maximum(0.0)
        with np.errstate(invalid="ignore"):
            short = least[:count] - helps @ most
        excluded = np.flatnonzero(among[:count] & (short > SHORT_MM))
        if excluded.size == 0:
            return None
        few = np.diff(helps.indptr)[excluded]
        asked = among.copy()
        asked[:count] = False
        asked[excluded[np.lexsort((-short[excluded], few))[0]]] = True
        y = self.weights(asked)
        return None if y is None else self._irreducible(y)

    def _sparse(self, among: BoolArray, anchor: int) -> FloatArray:
        """On few members, `anchor` one of them: not how far they are short counts, but how many
        they are."""
        self._solver.bound_rows(self._last, np.full(1, SHORT_MM), np.full(1, INFINITE))
        y = self._complete(among, self._alike, anchor)[:-1]
        for _ in range(ROUNDS):
            again = self._complete(among, 1e-2 / (1e-2 + y / y.max()), anchor)[:-1]
            if np.array_equal(_carrying(again), _carrying(y)):
                break
            y = again
        return y

    def _anchors(self, chosen: BoolArray) -> list[int]:
        """Limits before margins: there are fewer of them to share."""
        return [int(i) for i in np.flatnonzero(chosen)[::-1][:MOST_ANCHORS]]

    def _complete(self, among: BoolArray, cost: FloatArray, anchor: int | None) -> FloatArray:
        """[members and what pays], with every margin that is wanted."""
        answer = self._solved(among, cost, anchor)
        while self._add_missing(among, cost):
            answer = self._solved(among, cost, anchor)
        y = np.zeros(self._demands.size + 1)
        y[self._members] = answer
        return y

    def _solved(self, among: BoolArray, cost: FloatArray, anchor: int | None) -> FloatArray:
        """With the anchor's y at 1, or else with what pays for there being no conflict."""
        most = np.where(np.append(among, anchor is None), INFINITE, 0.0)[self._members]
        least = np.where(self._members == anchor, 1.0, 0.0)
        self._solver.cost_columns(self._priced(cost))
        self._solver.bound_columns(least, most)
        return self._solver.solve()

    def _priced(self, cost: FloatArray) -> FloatArray:
        return np.asarray(np.append(cost, 1.0 / MET_MM)[self._members])

    def _add_missing(self, among: BoolArray, cost: FloatArray) -> bool:
        """The margin of each place that would lower the cost most; True where there was one.

        The solver's own prices are the v that comes nearest: what v breaks is missing.
        """
        count = self._place.size
        missing = among[:count].copy()
        missing[self._members[self._members < count]] = False
        if not missing.any():
            return False
        prices = self._solver.row_prices()
        least = self._demands.least_mm[:count]
        over = cost[:count] - self._margins @ prices[:-1] - least * prices[-1]
        broken = np.flatnonzero(missing & (over < -BROKEN))
        if broken.size == 0:
            return False
        order = broken[np.lexsort((over[broken], self._place[broken]))]
        new = order[np.unique(self._place[order], return_index=True)[1]]
        self._solver.add_columns(cost[new], _beside(self._margins[new], least[new]))
        self._members = np.concatenate([self._members, new])
        return True

    def _irreducible(self, y: FloatArray) -> BoolArray:
        """The set that carries y without what can be spared (deletion filter)."""
        kept = _carrying(y)
        for one in sorted(np.flatnonzero(kept).tolist(), key=lambda i: float(y[i])):
            kept[one] = False
            kept[one] = self.weights(kept) is None
        return kept


def _beside(rows: sparse.csr_array, last: FloatArray) -> sparse.csr_array:
    """rows with one more column."""
    return sparse.csr_array(sparse.hstack([rows, sparse.csr_array(last[:, None])]))


def _carrying(y: FloatArray) -> BoolArray:
    return np.asarray(y > NONE * y.max())
