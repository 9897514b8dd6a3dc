"""Lanes and directions as a person calls them."""

from __future__ import annotations

import math

from daq.acquire.passes.lanes import LanePlan, PassPlan


def lane_words(string: float | None) -> str:
    """Where a lane lies: under string 3, between strings 2 and 3, along the rail."""
    if string is None or math.isnan(string):
        return "along the rail"
    if float(string).is_integer():
        return f"under string {string:g}"
    return f"between strings {math.floor(string)} and {math.ceil(string)}"


def way_words(direction: int) -> str:
    """Which way along the neck."""
    return "away from the nut" if direction > 0 else "towards the nut"


def pass_words(plan: PassPlan) -> str:
    """A pass in full."""
    lane = plan.lane
    return f"lane {lane.lane} ({lane_words(lane.string)}, {way_words(plan.direction)})"


def set_cross_slide(lane: LanePlan) -> str:
    """What a person must do before a lane whose y is set by hand."""
    return (
        f"Set the cross slide to y = {lane.start_mm[1]:+.1f} mm, {lane_words(lane.string)} at the "
        "middle of the neck"
    )
