"""Deciding: the plan for what was scanned, and what each thing is worth in it."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.plan.plan import Plan, plan_with
from analysis.plan.planner import Planner, planner_for
from analysis.plan.target import Target
from analysis.plan.weighed import Weighed, weigh
from analysis.rod.rod import Rod, default_rod
from analysis.strings.playing import PlayingProfile
from daq.reading.job import BothStates


@dataclass(frozen=True, slots=True)
class Decided:
    """planner: what both come from."""

    plan: Plan
    weighed: Weighed
    planner: Planner


def decide(both: BothStates, playing: PlayingProfile, target: Target, rod: Rod | None) -> Decided:
    """rod: as learnt on this neck, None takes the default. Raises ValueError as `planner_for`."""
    taken = default_rod(both.instrument, both.strung.x_mm) if rod is None else rod
    planner = planner_for(both.strung, both.instrument, playing, taken)
    plan = plan_with(planner, playing, target)
    scans = {state: len(one.used) for state, one in both.repeats.items()}
    return Decided(plan, weigh(plan, planner, scans), planner)
