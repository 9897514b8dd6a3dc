"""A plan weighed: what each thing buys, what uncertainty costs, how long the frets last."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from analysis.plan.doubts import Hanging, hangings
from analysis.plan.life import Life, life
from analysis.plan.plan import Plan
from analysis.plan.planner import Planner
from analysis.plan.price import UncertaintyPrice, uncertainty_price
from analysis.plan.sensitivity import Sensitivity, sensitivity


@dataclass(frozen=True, slots=True)
class Weighed:
    """hanging: by (fret, string), what hangs on each top."""

    sensitivity: Sensitivity
    price: UncertaintyPrice
    life: Life
    hanging: Mapping[tuple[int, int], Hanging]


def weigh(plan: Plan, planner: Planner, scans: Mapping[str, int]) -> Weighed:
    """planner: the one the plan was made with; scans: how many there are of each state."""
    playing, target = plan.playing, plan.target
    return Weighed(
        sensitivity(planner, playing, target),
        uncertainty_price(planner, playing, target, scans),
        life(planner, playing, target, plan.remove_mm),
        _hanging(planner, plan),
    )


def _hanging(planner: Planner, plan: Plan) -> Mapping[tuple[int, int], Hanging]:
    """On a neck without a plan: on the tops as they stand."""
    margins = planner.played(plan.playing)
    if not plan.feasible:
        return hangings(planner, margins, planner.rows.now_mm, None, plan.remove_mm)
    solution = planner.solve(plan.playing, planner.limits(plan.playing, plan.target))
    prices = planner.programme.prices()
    return hangings(planner, margins, solution.clearance_mm, prices, plan.remove_mm)
