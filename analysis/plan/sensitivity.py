"""What each step of the player's wishes buys in metal, and which places hold the plan."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from analysis.instrument import FloatArray
from analysis.plan.changes import Changes
from analysis.plan.holding import Holding, places_held, u_metal_mm
from analysis.plan.planner import Planner, planner_for
from analysis.plan.programme import Solution
from analysis.plan.replan import replan
from analysis.plan.slopes import Slopes
from analysis.plan.target import KEEPABLE, Target
from analysis.strings.kinds import profile_for
from analysis.strings.playing import BUILT_IN, PlayingProfile

Kind = Literal["plan", "action", "string", "force", "profile", "free", "keep", "rod", "fret"]
#: Steps of highest action, mm: a saddle screw is set to tenths by ear and eye.
ACTION_STEPS_MM = (-0.1, 0.1, 0.2, 0.3)
TENTH_MM = 0.1
#: Steps of pluck force, N: a third of what lies between the built-in players.
FORCE_STEPS_N = (-0.05, 0.05)
#: The rod this much past, or short of, where the plan has it.
QUARTER_TURNS = (-0.25, 0.25)


@dataclass(frozen=True, slots=True)
class Step:
    """The plan solved again with one thing otherwise.

    kind, by: "action": every string's highest action, mm; "string": that of `string` alone, mm;
    "force": pluck, N; "profile": the built-in player `what`; "free", "keep": `what` of rod, nut
    and saddles; "rod": turned, tightened positive, from where the plan has it; "fret": the least
    fret height, mm; "plan": nothing. metal_mm: NaN where no plan meets everything. turns,
    action_mm ([strings], over fret 12): the rod and the strings then.
    """

    kind: Kind
    by: float
    what: str
    string: int | None
    feasible: bool
    metal_mm: float
    turns: float
    action_mm: FloatArray


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """plan: as it is. holding: most metal first, none without a plan. slopes: see `Slopes`.

    u_metal_mm: of the plan's metal, for how well tops and string heights are known; near by.
    """

    plan: Step
    u_metal_mm: float
    steps: tuple[Step, ...]
    slopes: Slopes
    holding: tuple[Holding, ...]

    def saves_mm(self, step: Step) -> float:
        """Metal that a step saves, negative where it costs; NaN without a plan either way."""
        return self.plan.metal_mm - step.metal_mm

    def of(self, kind: Kind) -> tuple[Step, ...]:
        return tuple(step for step in self.steps if step.kind == kind)


def sensitivity(planner: Planner, playing: PlayingProfile, target: Target) -> Sensitivity:
    """Every step solved exactly. playing: one who bends as the planner was made for."""
    ask = _Ask(planner, playing, target)
    found = replan(planner, playing, planner.limits(playing, target))
    prices = planner.programme.prices()
    plan = ask.step("plan", found.solution)
    u, holding = float("nan"), tuple[Holding, ...]()
    if plan.feasible:
        u = u_metal_mm(planner, prices)
        holding = places_held(planner, found, prices, planner.limits(playing, target))
    steps = (*ask.actions(), *ask.player(), *ask.kept(), *(ask.rod(found.solution)))
    return Sensitivity(plan, u, steps, found.slopes, holding)


@dataclass(frozen=True, slots=True)
class _Ask:
    planner: Planner
    playing: PlayingProfile
    target: Target

    def step(
        self, kind: Kind, done: Solution, by: float = 0.0, what: str = "", string: int | None = None
    ) -> Step:
        relief = done.changes.relief_mm
        return Step(
            kind,
            by,
            what,
            string,
            done.feasible,
            done.metal_mm if done.feasible else float("nan"),
            -relief / self.planner.rod.mm_per_turn,
            action_after_mm(self.planner, done.changes),
        )

    def actions(self) -> Iterator[Step]:
        """Every string together, then each alone."""
        limits = self.planner.limits(self.playing, self.target)
        now = limits.highest_action_mm
        for by in ACTION_STEPS_MM:
            done = self.planner.solve(self.playing, replace(limits, highest_action_mm=now + by))
            yield self.step("action", done, by)
        for s, one in enumerate(TENTH_MM * np.eye(now.size)):
            done = self.planner.solve(self.playing, replace(limits, highest_action_mm=now + one))
            yield self.step("string", done, TENTH_MM, string=s + 1)

    def player(self) -> Iterator[Step]:
        """Another force, another least fret, another player."""
        for by in FORCE_STEPS_N:
            if self.playing.pluck_force_n + by > 0.0:
                force = self.playing.pluck_force_n + by
                yield self._played("force", replace(self.playing, pluck_force_n=force), by)
        for by in (-TENTH_MM, TENTH_MM):
            if self.playing.least_fret_mm + by >= 0.0:
                yield self._played("fret", self.playing.frets_left(by), by)
        for name in BUILT_IN:
            other = profile_for(name, self.planner.setup.instrument)
            if other != self.playing:
                yield self._played("profile", other, what=name)

    def _played(self, kind: Kind, playing: PlayingProfile, by: float = 0.0, what: str = "") -> Step:
        planner = self.planner
        if _bending(playing) != _bending(self.playing):
            # bends are part of the margins' geometry
            shape, instrument = planner.shape, planner.setup.instrument
            planner = planner_for(shape, instrument, playing, planner.rod)
        done = planner.solve(playing, planner.limits(playing, self.target))
        return self.step(kind, done, by, what)

    def kept(self) -> Iterator[Step]:
        for what in KEEPABLE:
            fixed = what in self.target.fixed
            kind: Kind = "free" if fixed else "keep"
            other = self.target.free({what}) if fixed else self.target.keeping(what)
            limits = self.planner.limits(self.playing, other)
            yield self.step(kind, self.planner.solve(self.playing, limits), what=what)

    def rod(self, done: Solution) -> Iterator[Step]:
        """Pinned beside where the plan has it; no further than a plan turns it at once."""
        rod = self.planner.rod
        if "rod" in self.target.fixed or not done.feasible:
            return
        limits = self.planner.limits(self.playing, self.target)
        for by in QUARTER_TURNS:
            relief = done.changes.relief_mm - by * rod.mm_per_turn
            if abs(relief) <= rod.most_relief_mm:
                pinned = replace(limits, relief_mm=(relief, relief))
                yield self.step("rod", self.planner.solve(self.playing, pinned), by)


def _bending(playing: PlayingProfile) -> tuple[float, tuple[int, int] | None]:
    return playing.bend_semitones, playing.bend_frets


def action_after_mm(planner: Planner, done: Changes) -> FloatArray:
    """Open strings over fret 12, [strings], mm, with the rod as it is stated to act."""
    setup, rod = planner.setup, planner.rod.cases[0]
    share = setup.share_at_twelve
    line = (1.0 - share) * done.nut_mm + share * (done.saddle_mm + done.relief_mm * rod.saddle)
    top = done.relief_mm * rod.tops[11] - done.remove_mm[11]
    return np.asarray(planner.rows.action_now_mm + line - top)
