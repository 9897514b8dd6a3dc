"""Time to plan again after one control is moved, 12 strings by 24 frets: `pytest -m campaign`.

Margins, verdicts and slopes included. On two cores, Python 3.11.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np
import pytest

from analysis.instrument import Instrument, StringSpec
from analysis.neck.shape import Shape
from analysis.plan.limits import Limits
from analysis.plan.planner import Planner, planner_for
from analysis.plan.replan import replan
from analysis.plan.target import ANYTHING
from analysis.rod.rod import default_rod
from analysis.strings.playing import PlayingProfile, built_in_profile

pytestmark = pytest.mark.campaign
MOST_MS = 8.0
MOVES = 40
#: Note, frequency, diameter mm, wound: six courses, each with its octave or twin.
COURSES = (
    ("E4", 329.63, 0.254, False), ("B3", 246.94, 0.330, False), ("G3", 196.00, 0.432, False),
    ("D3", 146.83, 0.610, True), ("A2", 110.00, 0.813, True), ("E2", 82.41, 1.067, True),
)  # fmt: skip
Controls = tuple[PlayingProfile, Limits]


@pytest.fixture(scope="module")
def twelve() -> Instrument:
    strings = tuple(StringSpec(*course) for course in COURSES for _ in range(2))
    action, gap = np.linspace(1.4, 1.9, 12), np.linspace(0.4, 0.5, 12)
    return Instrument(
        "twelve", 648.0, 648.0, 0, 24, 14, (305.0, 400.0), (48.0, 60.0), 60.0, strings,
        (3.6, 4.8), tuple(action), tuple(gap),
    )  # fmt: skip


@pytest.fixture(scope="module")
def planner(twelve: Instrument, make_shape: Callable[..., Shape]) -> Planner:
    rng = np.random.default_rng(3)
    high = 1.1 + rng.normal(0.0, 0.02, (24, 1)) + rng.normal(0.0, 0.006, (24, 12))
    shape = make_shape(twelve, high, relief_mm=0.15)
    player = built_in_profile("everyday", 12)
    return planner_for(shape, twelve, player, default_rod(twelve, shape.x_mm))


def moved(what: str, at: Controls) -> Iterator[Controls]:
    """The same control in ever other places."""
    rng = np.random.default_rng(1)
    playing, limits = at
    for _ in range(MOVES):
        string = int(rng.integers(12))
        low, high = (one.copy() for one in limits.saddle_mm)
        low[string] = high[string] = rng.uniform(0.0, 0.6)
        relief = rng.uniform(-0.1, 0.1)
        yield {
            "action": (
                playing,
                replace(
                    limits, highest_action_mm=limits.highest_action_mm + rng.uniform(-0.1, 0.2)
                ),
            ),
            "force": (
                replace(playing, pluck_force_n=playing.pluck_force_n * rng.uniform(0.8, 1.05)),
                limits,
            ),
            "guard": (playing, replace(limits, guard=rng.uniform(0.5, 2.5))),
            "saddle": (playing, replace(limits, saddle_mm=(low, high))),
            "rod": (playing, replace(limits, relief_mm=(relief, relief))),
        }[what]


@pytest.mark.parametrize("what", ["action", "force", "guard", "saddle", "rod"])
def test_a_slider_moves_the_plan_with_it(planner: Planner, what: str) -> None:
    playing = built_in_profile("everyday", 12)
    at = (playing, planner.limits(playing, ANYTHING))
    replan(planner, *at)
    took = []
    for controls in moved(what, at):
        began = time.perf_counter()
        replan(planner, *controls)
        took.append(1e3 * (time.perf_counter() - began))
    median, slow = np.median(took), np.quantile(took, 0.9)
    assert median < MOST_MS, f"median {median:.2f} ms, 90 in 100 under {slow:.2f} ms"
