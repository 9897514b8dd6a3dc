"""What each step of the player's wishes buys in metal, and which places hold the plan."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from analysis.instrument import FloatArray
from analysis.plan.changes import Changes
from analysis.plan.margins import Margins
from analysis.plan.planner import Planner, planner_for
from analysis.plan.programme import Prices, Solution
from analysis.plan.replan import replan
from analysis.plan.slopes import Slopes
from analysis.strings.playing import BUILT_IN, PlayingProfile, built_in_profile

Kind = Literal["plan", "action", "string", "force", "profile", "free", "keep", "rod", "fret"]
#: Steps of highest action, mm: a saddle screw is set to tenths by ear and eye.
ACTION_STEPS_MM = (-0.1, 0.1, 0.2, 0.3)
TENTH_MM = 0.1
#: Steps of pluck force, N: a third of what lies between the built-in players.
FORCE_STEPS_N = (-0.05, 0.05)
#: The rod this much past, or short of, where the plan has it.
QUARTER_TURNS = (-0.25, 0.25)
KEEPABLE = ("rod", "nut", "saddles")
#: So many places are asked what they hold: the others hold less, by their prices.
PLACES = 6
#: A need that no place has, mm.
NOTHING_MM = -1e3


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
class Holding:
    """A string in one position (0: open), and the metal that comes off for it alone.

    holds_mm: what would stay on if it needed no room; two places may hold the same metal. at: the
    fret where it presses most. price: metal, mm, for one more mm of its need over `at`.
    """

    string: int
    fretted: int
    bend: bool
    at: int
    holds_mm: float
    price: float


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


def sensitivity(planner: Planner, playing: PlayingProfile, keep: frozenset[str]) -> Sensitivity:
    """Every step solved exactly. playing: one who bends as the planner was made for."""
    ask = _Ask(planner, playing, keep)
    found = replan(planner, playing, planner.limits(playing, keep))
    prices = planner.programme.prices()
    plan = ask.step("plan", found.solution)
    holding = _holding(ask, found.margins, prices, plan) if plan.feasible else ()
    steps = (*ask.actions(), *ask.player(), *ask.kept(), *(ask.rod(found.solution)))
    u = _u_metal_mm(planner, prices) if plan.feasible else float("nan")
    return Sensitivity(plan, u, steps, found.slopes, holding)


@dataclass(frozen=True, slots=True)
class _Ask:
    planner: Planner
    playing: PlayingProfile
    keep: frozenset[str]

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
        limits = self.planner.limits(self.playing, self.keep)
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
                least = self.playing.least_fret_mm + by
                yield self._played("fret", replace(self.playing, least_fret_mm=least), by)
        for name in BUILT_IN:
            other = built_in_profile(name, self.planner.setup.strings)
            if other != self.playing:
                yield self._played("profile", other, what=name)

    def _played(self, kind: Kind, playing: PlayingProfile, by: float = 0.0, what: str = "") -> Step:
        planner = self.planner
        if playing.bend_semitones != self.playing.bend_semitones:
            # bends are part of the margins' geometry
            shape, instrument = planner.shape, planner.setup.instrument
            planner = planner_for(shape, instrument, playing, planner.rod)
        done = planner.solve(playing, planner.limits(playing, self.keep))
        return self.step(kind, done, by, what)

    def kept(self) -> Iterator[Step]:
        for what in KEEPABLE:
            kind: Kind = "free" if what in self.keep else "keep"
            limits = self.planner.limits(self.playing, self.keep ^ {what})
            yield self.step(kind, self.planner.solve(self.playing, limits), what=what)

    def rod(self, done: Solution) -> Iterator[Step]:
        """Pinned beside where the plan has it; no further than a plan turns it at once."""
        rod = self.planner.rod
        if "rod" in self.keep or not done.feasible:
            return
        limits = self.planner.limits(self.playing, self.keep)
        for by in QUARTER_TURNS:
            relief = done.changes.relief_mm - by * rod.mm_per_turn
            if abs(relief) <= rod.most_relief_mm:
                pinned = replace(limits, relief_mm=(relief, relief))
                yield self.step("rod", self.planner.solve(self.playing, pinned), by)


def action_after_mm(planner: Planner, done: Changes) -> FloatArray:
    """Open strings over fret 12, [strings], mm, with the rod as it is stated to act."""
    setup, rod = planner.setup, planner.rod.cases[0]
    share = (setup.x_mm[11] - setup.nut_x_mm) / (setup.saddle_x_mm - setup.nut_x_mm)
    line = (1.0 - share) * done.nut_mm + share * (done.saddle_mm + done.relief_mm * rod.saddle)
    top = done.relief_mm * rod.tops[11] - done.remove_mm[11]
    return np.asarray(planner.rows.action_now_mm + line - top)


def _u_metal_mm(planner: Planner, prices: Prices) -> float:
    """First order: every top, nut and saddle height by the metal that hangs on it.

    A saddle read wrong is set right with its screw: what the margins lose by it the action
    gains, and next to nothing is left of it in metal.
    """
    setup, margins = planner.setup, planner.margins
    share = (setup.x_mm[11] - setup.nut_x_mm) / (setup.saddle_x_mm - setup.nut_x_mm)
    parts = (
        (prices.margin @ margins.nodes, np.nan_to_num(setup.u_node_mm).ravel()),
        (prices.margin @ margins.nut + prices.action * (1.0 - share), setup.u_nut_mm),
        (prices.margin @ margins.saddle + prices.action * share, setup.u_saddle_mm),
    )
    return float(np.sqrt(sum(np.sum((slope * u) ** 2) for slope, u in parts)))


def _holding(ask: _Ask, margins: Margins, prices: Prices, plan: Step) -> tuple[Holding, ...]:
    """Exact for the places that hold most by their prices: asked again as if they needed none."""
    limits = ask.planner.limits(ask.playing, ask.keep)
    first = margins.first
    wanted = np.clip(margins.needed_mm + limits.guard * margins.u_mm, 0.0, None)
    by_price = np.add.reduceat(prices.margin * wanted, first)
    out = []
    for place in np.argsort(-by_price, kind="stable")[:PLACES].tolist():
        rows = np.arange(first[place], [*first, margins.string.size][place + 1])
        if by_price[place] <= 0.0:
            break
        needed = margins.needed_mm.copy()
        needed[rows] = NOTHING_MM
        without = ask.planner.programme.solve(replace(margins, needed_mm=needed), limits)
        at = rows[np.argmax(prices.margin[rows])]
        out.append(
            Holding(
                int(margins.string[at]),
                int(margins.fretted[at]),
                bool(margins.bend[at]),
                int(margins.at[at]),
                max(plan.metal_mm - without.metal_mm, 0.0),
                float(prices.margin[at]),
            )
        )
    return tuple(sorted(out, key=lambda one: -one.holds_mm))
