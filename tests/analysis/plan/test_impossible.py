"""Profiles that no neck can meet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import linprog

from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.ideal import Impossible, impossible
from analysis.plan.planner import Planner, planner_for
from analysis.plan.target import ANYTHING
from analysis.rod.rod import default_rod
from analysis.strings.playing import PlayingProfile, built_in_profile

MakeShape = Callable[..., Shape]
ABSURD = replace(
    built_in_profile("everyday", 2),
    pluck_force_n=0.8,
    bend_semitones=0.0,
    highest_action_mm={1: 1.0, 2: 1.1},
)


@pytest.fixture
def asked(
    tiny: Instrument, make_shape: MakeShape
) -> Callable[[PlayingProfile, float], tuple[Planner, Impossible | None]]:
    def make(playing: PlayingProfile, uneven_mm: float) -> tuple[Planner, Impossible | None]:
        high = 1.0 + np.random.default_rng(5).normal(0.0, 1.0, (13, 2)) * uneven_mm
        shape = make_shape(tiny, high, relief_mm=0.1)
        planner = planner_for(shape, tiny, playing, default_rod(tiny, shape.x_mm))
        limits = planner.limits(playing, ANYTHING)
        return planner, impossible(planner, planner.margins, limits, playing)

    return make


Asked = Callable[[PlayingProfile, float], tuple[Planner, Impossible | None]]


def lowest_action_mm(planner: Planner, string: int) -> float:
    """Over fret 12, of any neck at all: tops, nut and saddle of one string wherever is best."""
    setup, rows = planner.setup, planner.margins
    s = string - 1
    mine = np.flatnonzero((rows.string == string) & ~rows.bend)
    x = np.concatenate([[setup.nut_x_mm[s]], setup.x_mm[:, s]])
    end = float(setup.saddle_x_mm[s])
    size = x.size + 1  # nut, tops, saddle
    matrix = np.zeros((mine.size, size))
    for row, i in enumerate(mine.tolist()):
        n, m = int(rows.fretted[i]), int(rows.at[i])
        share = (x[m] - x[n]) / (end - x[n])
        matrix[row, n] += 1.0 - share
        matrix[row, -1] += share
        matrix[row, m] -= 1.0
    over = np.zeros(size)
    share = (x[12] - x[0]) / (end - x[0])
    over[0], over[-1], over[12] = 1.0 - share, share, -1.0
    answer = linprog(
        over, A_ub=-matrix, b_ub=-rows.swing_mm[mine], bounds=(-50, 50), method="highs-ds"
    )
    assert answer.status == 0
    return float(answer.fun)


def test_the_action_some_neck_could_meet_whatever_this_neck_is_like(asked: Asked) -> None:
    planner, found = asked(ABSURD, 0.0)
    _, uneven = asked(ABSURD, 0.08)
    assert found is not None
    assert uneven is not None
    for string in (1, 2):
        assert found.action_mm[string] == pytest.approx(lowest_action_mm(planner, string), abs=2e-4)
        assert uneven.action_mm[string] == pytest.approx(found.action_mm[string], abs=2e-4)
    assert found.bend_semitones is None


def test_just_that_action_or_that_force_could_be_met(asked: Asked) -> None:
    _, found = asked(ABSURD, 0.05)
    assert found is not None
    assert found.force_n is not None
    higher = {s: mm + 2e-3 for s, mm in found.action_mm.items()}
    lower = {s: mm - 2e-3 for s, mm in found.action_mm.items()}
    assert asked(replace(ABSURD, highest_action_mm=higher), 0.05)[1] is None
    assert asked(replace(ABSURD, highest_action_mm=lower), 0.05)[1] is not None
    softer = replace(ABSURD, pluck_force_n=0.998 * found.force_n)
    harder = replace(ABSURD, pluck_force_n=1.002 * found.force_n)
    assert asked(softer, 0.05)[1] is None
    assert asked(harder, 0.05)[1] is not None


def test_a_worn_neck_is_no_reason(asked: Asked) -> None:
    fair = replace(ABSURD, pluck_force_n=0.4, highest_action_mm={1: 2.0, 2: 2.2})
    assert asked(fair, 0.3)[1] is None


def test_bends_alone_may_be_too_much(tiny: Instrument, make_shape: MakeShape) -> None:
    """A board rounder than any: what is said some neck could meet, half a semitone more not."""
    round_board = replace(tiny, board_radius_mm=(60.0, 60.0), spacing_mm=(30.0, 40.0))
    shape = make_shape(round_board, np.full((13, 2), 1.0), relief_mm=0.1)
    rod = default_rod(round_board, shape.x_mm)

    def found(semitones: float, action_mm: float) -> Impossible | None:
        playing = replace(
            ABSURD,
            pluck_force_n=0.3,
            bend_semitones=semitones,
            highest_action_mm={1: action_mm, 2: 2.0},
        )
        planner = planner_for(shape, round_board, playing, rod)
        limits = planner.limits(playing, ANYTHING)
        return impossible(planner, planner.margins, limits, playing)

    little, much = found(0.0, 0.5), found(5.0, 0.5)
    assert little is not None
    assert much is not None
    between = 0.5 * (little.action_mm[1] + much.action_mm[1])
    widest = found(5.0, between)
    assert widest is not None
    assert widest.bend_semitones is not None
    assert 0.0 <= widest.bend_semitones < 5.0
    assert found(widest.bend_semitones, between) is None
    assert found(widest.bend_semitones + 0.5, between) is not None
