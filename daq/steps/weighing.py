"""Weighing a plan against the scans it was made from."""

from __future__ import annotations

from analysis.plan.plan import Plan
from analysis.plan.weighed import Weighed, weigh
from daq.reading.job import BothStates


def weigh_plan(plan: Plan, both: BothStates) -> Weighed:
    """What each step buys, what uncertainty costs, how long the frets last, what hangs on tops."""
    scans = {state: len(one.used) for state, one in both.repeats.items()}
    return weigh(plan, both.strung, both.instrument, scans)
