"""The linear programme: least metal, subject to every margin."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from analysis.instrument import FloatArray
from analysis.plan.changes import Changes
from analysis.plan.limits import Limits
from analysis.plan.margins import Margins
from analysis.plan.rows import Rows
from analysis.plan.solver import INFINITE, WarmProgramme

#: What a millimetre of screw costs against a millimetre of metal: a screw can be turned back,
#: a nut slot can be filled or shimmed with some trouble, metal cannot be put back.
SADDLE_COST = 0.02
NUT_COST = 0.15
ROD_COST = 0.03
#: Metal off a fret that has little left to give costs this much more, at the most.
LIFE_COST = 0.02
#: What a millimetre short costs. More than any metal: one cut can pull no more than every other
#: fret and string with it, and 12 strings over 36 frets are fewer.
SHORT_COST = 1e3
#: Short by less than this is the solver's own tolerance.
SHORT_MM = 1e-5
#: A row is broken by more than this; the solver holds its own to a tenth of it.
BROKEN_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Solution:
    """What to change, and what then remains.

    clearance_mm: [margins], the least over every way the rod may act. short_mm: [margins], how
    far each stays short of what it needs with its guard; all zero where the programme is
    feasible. action_short_mm: [strings].
    """

    changes: Changes
    clearance_mm: FloatArray
    short_mm: FloatArray
    action_short_mm: FloatArray

    @property
    def feasible(self) -> bool:
        worst = max(self.short_mm.max(initial=0.0), self.action_short_mm.max(initial=0.0))
        return bool(worst <= SHORT_MM)

    @property
    def metal_mm(self) -> float:
        """Metal off, summed over every fret and string."""
        return float(self.changes.remove_mm.sum())


@dataclass(frozen=True, slots=True)
class Prices:
    """What a millimetre more of each bound costs in metal, mm, close to the solution.

    margin: [margins], of what a margin needs. action: [strings], negative: of the highest action.
    """

    margin: FloatArray
    action: FloatArray


class Programme:
    """Least metal for which every margin holds whatever the rod does.

    It is built once for a neck. Each `solve` starts where the last one ended, with only those
    margins that have ever been in the way: moving one control takes milliseconds. Among equal
    metal the corner found depends on where it came from.
    """

    def __init__(
        self, rows: Rows, margins: Margins, limits: Limits, action_cost: float = SHORT_COST
    ) -> None:
        """limits: give what metal each fret has left, for its cost; `solve` takes its own.

        action_cost: what a millimetre of action past the player's limit costs; less than
        SHORT_COST asks how much higher it would have to be.
        """
        self._rows = rows
        columns = rows.columns
        self._count = rows.now_mm.size
        cost = columns.costs(_cut_cost(limits), SADDLE_COST, NUT_COST, ROD_COST)
        self._slack = 2 * columns.strings
        fixed = sparse.vstack(
            [
                sparse.hstack([rows.action, _of_string(columns.strings, columns.strings)]),
                sparse.hstack([rows.steps, sparse.csr_array((rows.steps.shape[0], self._slack))]),
            ]
        )
        over = np.repeat([SHORT_COST, action_cost], columns.strings)
        costs = np.concatenate([cost, over])
        self._warm = WarmProgramme(costs, sparse.csr_array(fixed))
        self._first = self._warm.rows
        # one shortfall a string, for its margins; the action's stand behind them
        one = sparse.csr_array(
            (np.ones(self._count), (np.arange(self._count), margins.string - 1)),
            shape=(self._count, self._slack),
        )
        self._pool = sparse.csr_array(sparse.hstack([rows.margins, one]))
        sizes = np.diff(np.append(margins.first, self._count))
        self._place = np.repeat(np.arange(sizes.size), sizes)
        self._used = np.zeros(0, dtype=np.int_)

    def solve(self, margins: Margins, limits: Limits) -> Solution:
        """margins: of the places this programme was built with; needs and u may be others.

        A neck that cannot meet everything has an answer too: what comes nearest, and how far it
        stays short.
        """
        rows, free = self._rows, np.zeros(self._slack)
        low, high = rows.columns.bounds(limits)
        self._warm.bound_columns(
            np.concatenate([low, free]), np.concatenate([high, free + INFINITE])
        )
        action = rows.action_now_mm - limits.highest_action_mm
        self._warm.bound_rows(0, action, np.full(action.size, INFINITE))
        self._warm.bound_rows(action.size, -rows.most_step_mm, rows.most_step_mm)
        wanted = margins.swing_mm + limits.guard * margins.u_mm
        least = wanted - rows.now_mm
        self._warm.bound_rows(self._first, least[self._used], np.full(self._used.size, INFINITE))
        best = self._warm.solve()
        while self._add_broken(best, least):
            best = self._warm.solve()
        screws, over = best[: rows.columns.size], best[rows.columns.size :]
        after = rows.now_mm + rows.margins @ screws
        return Solution(
            rows.columns.split(screws),
            after,
            np.clip(wanted - after, 0.0, None),
            over[rows.columns.strings :],
        )

    def prices(self) -> Prices:
        """Of the last solution."""
        columns = self._rows.columns
        metal = columns.costs(np.ones((columns.frets, columns.strings)), 0.0, 0.0, 0.0)
        of_rows = self._warm.prices(np.concatenate([metal, np.zeros(self._slack)]))
        margin = np.zeros(self._count)
        margin[self._used] = of_rows[self._first :]
        return Prices(margin, -of_rows[: columns.strings])

    def _add_broken(self, best: FloatArray, least_mm: FloatArray) -> bool:
        """The worst broken margin of every string and position; True where there was one."""
        over = self._pool @ best - least_mm
        over[self._used] = 0.0
        broken = np.flatnonzero(over < -BROKEN_MM)
        if broken.size == 0:
            return False
        worst = _worst_of_each(self._place[broken], over[broken])
        new = broken[worst]
        self._warm.add_rows(self._pool[new], least_mm[new], np.full(new.size, INFINITE))
        self._used = np.concatenate([self._used, new])
        return True


def _worst_of_each(place: NDArray[np.int_], over: FloatArray) -> NDArray[np.int_]:
    order = np.lexsort((over, place))
    first = np.concatenate([[True], np.diff(place[order]) != 0])
    return np.asarray(order[first])


def _of_string(strings: int, before: int) -> sparse.csr_array:
    """One column for each string, behind others that stay empty."""
    return sparse.csr_array(
        sparse.hstack([sparse.csr_array((strings, before)), sparse.eye_array(strings)])
    )


def _cut_cost(limits: Limits) -> FloatArray:
    """[frets, strings]: metal is dearest where a fret has least left to give."""
    room = limits.most_cut_mm
    most = room.max(initial=0.0)
    left = room / most if most > 0 else np.ones_like(room)
    return np.asarray(1.0 + LIFE_COST * (1.0 - left))
