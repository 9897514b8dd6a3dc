"""The setup and the cut plan, with every margin before and after."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray
from analysis.plan.blocking import Blocking, blocking
from analysis.plan.changes import nothing_changed
from analysis.plan.chokes import Chokes, chokes
from analysis.plan.clearances import Clearance, clearances, worst_clearances
from analysis.plan.cure import Cure
from analysis.plan.cures import cures, refrets
from analysis.plan.ideal import Impossible, impossible
from analysis.plan.level import level_mm
from analysis.plan.planner import Planner
from analysis.plan.programme import SHORT_MM
from analysis.plan.refret import Refret
from analysis.plan.target import Target
from analysis.rod.rod import Rod
from analysis.strings.playing import PlayingProfile
from analysis.strings.strings import StringLoad


@dataclass(frozen=True, slots=True)
class Plan:
    """remove_mm, height_after_mm: [frets, strings]. saddle_mm, nut_mm: [strings], up positive.

    shape_short_mm: [frets, strings], how far the asked-for shape is out of reach.
    relief_change_mm: what the rod adds to relief; turns: how far it is turned for that, as `rod`
    has it. now, after: the worst margin of every string and position. short: margins
    that nothing within the limits would meet; then nothing is changed, `blocking` says what
    excludes what and `cures` what would help. impossible: what no neck at all could meet.
    chokes: None for a player who does not bend.
    """

    playing: PlayingProfile
    target: Target
    loads: tuple[StringLoad, ...]
    rod: Rod
    feasible: bool
    remove_mm: FloatArray
    u_remove_mm: FloatArray
    height_after_mm: FloatArray
    saddle_mm: FloatArray
    nut_mm: FloatArray
    relief_change_mm: float
    turns: float
    now: tuple[Clearance, ...]
    after: tuple[Clearance, ...]
    short: tuple[Clearance, ...]
    action_short_mm: FloatArray
    shape_short_mm: FloatArray
    refret: tuple[Refret, ...]
    cures: tuple[Cure, ...]
    planned_mm: float
    level_mm: float
    blocking: tuple[Blocking, ...] = ()
    impossible: Impossible | None = None
    chokes: Chokes | None = None


def plan_with(planner: Planner, playing: PlayingProfile, target: Target) -> Plan:
    """Least metal by a planner made for this playing.

    Where no plan meets every margin nothing is changed at all: half a plan costs metal and cures
    nothing; `short` and `cures` then say what is in the way.
    """
    shape, rod = planner.shape, planner.rod
    limits = planner.limits(playing, target)
    solution = planner.solve(playing, limits)
    feasible, rows = solution.feasible, planner.margins
    done = solution.changes if feasible else nothing_changed(planner.setup)
    now = planner.rows.now_mm
    level = level_mm(planner.seen, rod.cases[0], rod.most_relief_mm)
    guard = playing.guard
    missing = np.flatnonzero(solution.short_mm > SHORT_MM)
    cured = () if feasible else cures(planner, playing, target)
    return Plan(
        playing,
        target,
        planner.loads,
        rod,
        feasible,
        done.remove_mm,
        np.hypot(shape.u_top_mm, 5e-4),
        shape.height_mm - done.remove_mm,
        done.saddle_mm,
        done.nut_mm,
        done.relief_mm,
        -done.relief_mm / rod.mm_per_turn,
        worst_clearances(rows, now, guard),
        worst_clearances(rows, solution.clearance_mm if feasible else now, guard),
        clearances(rows, solution.clearance_mm, guard, missing),
        solution.action_short_mm,
        limits.shape_short_mm,
        refrets(planner, playing, cured),
        cured,
        float(done.remove_mm.sum()),
        float(level.sum()),
        () if feasible else blocking(planner, rows, limits),
        None if feasible else impossible(planner, rows, limits, playing),
        chokes(planner, playing, limits, done),
    )
