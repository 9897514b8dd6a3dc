"""Each string where it has least room: what lies under it there, now and once a plan is done."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from analysis.plan.changes import Changes
from analysis.plan.chokes import after_plan
from analysis.plan.clearances import Clearance, worst_clearances
from analysis.plan.demands import wanted_mm
from analysis.plan.limits import Limits
from analysis.plan.margins import IntArray, Margins
from analysis.plan.planner import Planner
from analysis.plan.setup import Setup


@dataclass(frozen=True, slots=True)
class Tight:
    """One string held where it has least room as the neck is, and every fret beyond.

    fretted: 0 is open; bend: pushed aside there. start_x_mm: where it is held. All arrays are
    [frets beyond], nearest first: at, their numbers; now_mm, after_mm, string over fret; cut_mm,
    what comes off; needed_mm, swing_mm, what its swing needs by METHODS 15 and with what a real
    string comes deeper; u_mm, standard uncertainty of clearance less need; wanted_mm, with the
    guard.
    """

    string: int
    fretted: int
    bend: bool
    start_x_mm: float
    at: IntArray
    x_mm: FloatArray
    now_mm: FloatArray
    after_mm: FloatArray
    cut_mm: FloatArray
    needed_mm: FloatArray
    swing_mm: FloatArray
    u_mm: FloatArray
    wanted_mm: FloatArray

    @property
    def short_now_mm(self) -> float:
        """Missing for the guard at the worst; negative: to spare."""
        return float(np.max(self.wanted_mm - self.now_mm))

    def worst(self, clearance_mm: FloatArray) -> int:
        """Index of the fret with least room."""
        return int(np.argmin(clearance_mm - self.swing_mm))


@dataclass(frozen=True, slots=True)
class TightStrings:
    """before, after: the neck as strung, after with the cuts under the strings made. each: one a
    string that has any margin."""

    before: Setup
    after: Setup
    each: tuple[Tight, ...]


@dataclass(frozen=True, slots=True)
class Looked:
    """Every margin of a neck as it is and once a plan is done: what each string is looked up in.

    after: the neck once the plan is done, with the cuts under the strings made. now_mm, after_mm,
    cut_mm, wanted_mm: [margins].
    """

    rows: Margins
    before: Setup
    after: Setup
    now_mm: FloatArray
    after_mm: FloatArray
    cut_mm: FloatArray
    wanted_mm: FloatArray

    def held(self, string: int, fretted: int | None = None) -> Tight | None:
        """One string held at a position (0: open), straight; None: where it has least room now,
        bent only where it has less room so than straight anywhere, and too little. None where it
        has no margin there."""
        mine = self.rows.string == string
        if fretted is not None:
            mine &= (self.rows.fretted == fretted) & ~self.rows.bend
        held = _held(self.rows, mine, self.now_mm - self.wanted_mm)
        return None if held.size == 0 else self._tight(held)

    def _tight(self, held: IntArray) -> Tight:
        rows, before = self.rows, self.before
        at, s, fretted = rows.at[held], int(rows.string[held[0]]) - 1, int(rows.fretted[held[0]])
        start = before.nut_x_mm[s] if fretted == 0 else before.x_mm[fretted - 1, s]
        return Tight(
            s + 1,
            fretted,
            bool(rows.bend[held[0]]),
            float(start),
            at,
            before.x_mm[at - 1, s],
            self.now_mm[held],
            self.after_mm[held],
            self.cut_mm[held],
            rows.needed_mm[held],
            rows.swing_mm[held],
            rows.u_mm[held],
            self.wanted_mm[held],
        )


def looked(planner: Planner, rows: Margins, limits: Limits, done: Changes) -> Looked:
    """rows: the planner's margins with what its player needs. limits: as planned by; done: what
    the plan changes, the rod taken to act as it is stated to."""
    state = after_plan(planner, limits, done)
    # clearance gains by the cuts of frets beyond, loses by that of the fret that holds the string
    cut = rows.cuts.maximum(0.0) @ done.remove_mm.ravel()
    return Looked(
        rows,
        planner.setup,
        _cut(state.setup, done),
        planner.rows.now_mm,
        state.clearance_mm(rows),
        cut,
        wanted_mm(rows, limits),
    )


def tight_strings(planner: Planner, limits: Limits, done: Changes) -> TightStrings:
    """Each string where it has least room; arguments as `looked` has them."""
    seen = looked(planner, planner.margins, limits, done)
    each = (seen.held(string) for string in range(1, planner.setup.strings + 1))
    return TightStrings(seen.before, seen.after, tuple(one for one in each if one is not None))


def _cut(setup: Setup, done: Changes) -> Setup:
    """With what comes off under the strings."""
    z = setup.node_z_mm.copy()
    z[:, ::2] -= done.remove_mm
    return replace(setup, node_z_mm=z)


def _held(rows: Margins, mine: NDArray[np.bool_], room_mm: FloatArray) -> IntArray:
    """Rows of the place with least room, the worst over each fret beyond, nearest fret first."""
    straight, bent = (np.flatnonzero(mine & (rows.bend == bend)) for bend in (False, True))
    if straight.size == 0:
        return straight
    worst = straight[np.argmin(room_mm[straight])]
    if bent.size and room_mm[bent].min() < min(0.0, room_mm[worst]) and room_mm[worst] >= 0.0:
        worst = bent[np.argmin(room_mm[bent])]
    held = np.flatnonzero(
        mine & (rows.bend == rows.bend[worst]) & (rows.fretted == rows.fretted[worst])
    )
    held = held[np.lexsort((room_mm[held], rows.at[held]))]
    return np.asarray(held[np.unique(rows.at[held], return_index=True)[1]])


def margins_done(planner: Planner, limits: Limits, done: Changes) -> tuple[Clearance, ...]:
    """The worst margin of every place once a plan is done, the rod as it is stated to act."""
    clearance = after_plan(planner, limits, done).clearance_mm(planner.margins)
    return worst_clearances(planner.margins, clearance, limits.guard)
