"""A plan for a shape made up in a test."""

from __future__ import annotations

from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.plan import Plan, plan_with
from analysis.plan.planner import planner_for
from analysis.plan.target import Target
from analysis.rod.rod import Rod, default_rod
from analysis.strings.playing import PlayingProfile


def make_plan(
    shape: Shape,
    instrument: Instrument,
    playing: PlayingProfile,
    target: Target,
    rod: Rod | None = None,
) -> Plan:
    """rod: None takes the default."""
    taken = default_rod(instrument, shape.x_mm) if rod is None else rod
    return plan_with(planner_for(shape, instrument, playing, taken), playing, target)
