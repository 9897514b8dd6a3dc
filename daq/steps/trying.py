"""A job's neck made ready to try things on: every control that is moved is planned for anew."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass, field, replace

import numpy as np

from analysis.instrument import FloatArray, Instrument
from analysis.neck.shape import Shape
from analysis.plan.changes import Changes, nothing_changed
from analysis.plan.clearances import Clearance, clearances
from analysis.plan.doubts import hangings
from analysis.plan.level import level_mm
from analysis.plan.limits import Limits
from analysis.plan.planner import Planner, planner_for
from analysis.plan.programme import SHORT_MM, Prices, Solution
from analysis.plan.room import Room, room_at
from analysis.plan.section import Section, section
from analysis.plan.target import Target
from analysis.plan.tight import Looked, looked
from analysis.rod.rod import Rod, default_rod
from analysis.strings.playing import PlayingProfile
from daq.errors import InputError
from daq.reading.doubts import Doubtful, Doubts, doubtful_in, weighed_doubts
from daq.reading.job import BothStates, both_states
from daq.reading.measured import Measured, measured
from daq.reading.reader import JobReader
from daq.reading.rod import job_rod

#: So many ways of bending and plucking are kept at hand; each takes some megabytes.
MOST_PLANNERS = 12


@dataclass(frozen=True, slots=True)
class Tried:
    """A plan in memory, as `neckform plan` would make it for the same player and target.

    changes: what it would change, nothing where it is not feasible. short: what then stays short.
    prices: of what it is held by; None where it is not feasible.
    """

    bench: BenchNeck
    planner: Planner
    playing: PlayingProfile
    target: Target
    limits: Limits
    solution: Solution
    changes: Changes
    looked: Looked
    prices: Prices | None

    @property
    def feasible(self) -> bool:
        return self.solution.feasible

    @property
    def room(self) -> Room:
        """Once it is done; as it stands where it is not feasible."""
        setup, rows = self.planner.setup, self.looked.rows
        clearance = self.solution.clearance_mm if self.feasible else self.planner.rows.now_mm
        return room_at(rows, clearance, self.limits.guard, setup.frets, setup.strings)

    @property
    def short(self) -> tuple[Clearance, ...]:
        """Margins that nothing within the limits would meet."""
        solution = self.solution
        missing = np.flatnonzero(solution.short_mm > SHORT_MM)
        rows = self.looked.rows
        return clearances(rows, solution.clearance_mm, self.limits.guard, missing)

    @property
    def height_after_mm(self) -> FloatArray:
        """[frets, strings]: of the crowns."""
        return self.planner.shape.height_mm - self.changes.remove_mm

    @property
    def turns(self) -> float:
        """Of the rod, tightening positive."""
        return -self.changes.relief_mm / self.planner.rod.mm_per_turn

    @property
    def doubts(self) -> Doubts:
        """What is doubtful in the scans, as far as this plan hangs on it; 2 ms."""
        bench, feasible = self.bench, self.feasible
        clearance = self.solution.clearance_mm if feasible else self.planner.rows.now_mm
        strings = len(bench.instrument.strings)
        hanging = hangings(
            self.planner, self.looked.rows, clearance, self.prices, self.changes.remove_mm,
            bench.doubtful.places(strings),
        )  # fmt: skip
        return weighed_doubts(bench.doubtful, hanging, strings)

    def section(self, string: int, fretted: int | None = None) -> Section:
        """fretted: where the string is held; None: where it has least room now."""
        return section(self.planner, self.looked, self.changes, self.target, string, fretted)


@dataclass(frozen=True, slots=True)
class BenchNeck:
    """both: the necks as they were read. measured: the unstrung one with its wear. doubtful: what
    is doubtful in their scans, looked for once, for it takes as long as many a plan.

    Not for two threads at once: planners stay warm.
    """

    both: BothStates
    measured: Measured
    doubtful: Doubtful
    rod: Rod
    _planners: OrderedDict[tuple[object, ...], Planner] = field(default_factory=OrderedDict)

    @property
    def instrument(self) -> Instrument:
        return self.both.instrument

    @property
    def shape(self) -> Shape:
        """The strung tops as they would stand now."""
        return self.both.strung

    def tried(self, playing: PlayingProfile, target: Target) -> Tried:
        """The least metal for this player and target. Raises InputError as `plan_job` does."""
        planner = self._planner(playing)
        limits, rows = planner.limits(playing, target), planner.played(playing)
        solution = planner.programme.solve(rows, limits)
        done = solution.changes if solution.feasible else nothing_changed(planner.setup)
        seen = looked(planner, rows, limits, done)
        prices = planner.programme.prices() if solution.feasible else None
        return Tried(self, planner, playing, target, limits, solution, done, seen, prices)

    def level_mm(self, playing: PlayingProfile) -> FloatArray:
        """[frets, strings]: what levelling the whole board would take."""
        return level_mm(self._planner(playing).seen, self.rod.cases[0], self.rod.most_relief_mm)

    def _planner(self, playing: PlayingProfile) -> Planner:
        """Bends belong to the margins' places, the pluck point to the strings' motion: both are
        worked out once."""
        bends = (playing.bend_semitones, playing.bend_frets)
        key = (*bends, playing.pluck_from_saddle_mm)
        if key not in self._planners:
            other = next((p for k, p in self._planners.items() if k[:2] == bends), None)
            self._planners[key] = self._made(playing) if other is None else _plucked(other, playing)
        self._planners.move_to_end(key)
        while len(self._planners) > MOST_PLANNERS:
            self._planners.popitem(last=False)
        return self._planners[key]

    def _made(self, playing: PlayingProfile) -> Planner:
        try:
            return planner_for(self.shape, self.instrument, playing, self.rod)
        except ValueError as error:
            raise InputError(str(error)) from error


def _plucked(planner: Planner, playing: PlayingProfile) -> Planner:
    """The same neck and programme, its strings plucked elsewhere."""
    return replace(planner, margins=planner.played(playing))


def neck_on_bench(reader: JobReader) -> BenchNeck:
    """Reads the job's scans. Raises InputError as `plan_job` does."""
    both, found = both_states(reader), job_rod(reader)
    rod = None if found.best is None else found.best.learnt.rod
    taken = default_rod(both.instrument, both.strung.x_mm) if rod is None else rod
    worn = measured(both.instrument, both.unstrung, both.unstrung_scan)
    return BenchNeck(both, worn, doubtful_in(both), taken)
