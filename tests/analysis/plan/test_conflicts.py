"""Sets that cannot be met together, against the solver asked directly and every subset tried."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.blocking import blocking
from analysis.plan.conflict import SHORT_MM, Conflicts
from analysis.plan.demands import Demands, demands
from analysis.plan.planner import Planner, planner_for
from analysis.plan.target import Target
from analysis.rod.rod import default_rod
from analysis.strings.playing import PlayingProfile, built_in_profile

MakeShape = Callable[..., Shape]


def planner_of(
    instrument: Instrument, make_shape: MakeShape, playing: PlayingProfile, seed: int
) -> Planner:
    high = 1.0 + np.random.default_rng(seed).normal(
        0.0, 0.05, (instrument.frets, len(instrument.strings))
    )
    shape = make_shape(instrument, high, relief_mm=0.1)
    return planner_for(shape, instrument, playing, default_rod(instrument, shape.x_mm))


def asked_of(
    instrument: Instrument,
    make_shape: MakeShape,
    seed: int,
    force: float = 0.9,
    action: float = 1.5,
    least: float = 0.9,
    bend: float = 0.5,
) -> Demands:
    playing = replace(
        built_in_profile("everyday", 2),
        pluck_force_n=force,
        bend_semitones=bend,
        least_fret_mm=least,
        highest_action_mm={1: action, 2: action + 0.1},
    )
    planner = planner_of(instrument, make_shape, playing, seed)
    return demands(planner.rows, planner.margins, planner.limits(playing, Target()))


def short_mm(asked: Demands, chosen: np.ndarray) -> float:
    """How far the chosen rows must all give way, by a programme of its own; 0 where they hold."""
    rows = asked.matrix[chosen].toarray()
    answer = linprog(
        np.append(np.zeros(rows.shape[1]), 1.0),
        A_ub=np.hstack([-rows, -np.ones((rows.shape[0], 1))]),
        b_ub=-asked.least_mm[chosen],
        bounds=(0, None),
        method="highs-ds",
    )
    assert answer.status == 0
    return float(answer.fun)


@settings(max_examples=25, deadline=None)
@given(
    seed=st.integers(0, 10**6),
    force=st.floats(0.3, 1.2),
    action=st.floats(1.0, 2.5),
    least=st.floats(0.5, 1.1),
)
def test_found_exactly_where_not_all_can_be_met_and_nothing_can_be_spared(
    tiny: Instrument,
    make_shape: MakeShape,
    seed: int,
    force: float,
    action: float,
    least: float,
) -> None:
    asked = asked_of(tiny, make_shape, seed, force, action, least)
    every = np.ones(asked.size, dtype=bool)
    short = short_mm(asked, every)
    conflicts = Conflicts(asked)
    found = conflicts.found(every)
    if short < 1e-7:
        assert found is None
    if short > 2e-5:
        assert found is not None
    if found is None:
        return
    assert short_mm(asked, found) > 5e-6
    for one in np.flatnonzero(found):
        without = found.copy()
        without[one] = False
        assert short_mm(asked, without) < 1.1e-5


@pytest.mark.parametrize("seed", range(8))
def test_as_small_as_the_smallest_of_all_subsets(
    tiny: Instrument, make_shape: MakeShape, seed: int
) -> None:
    """Among the set found and others beside it, every subset tried, smallest first."""
    rng = np.random.default_rng(seed)
    asked = asked_of(tiny, make_shape, seed, force=0.6 + 0.05 * seed)
    conflicts = Conflicts(asked)
    found = conflicts.found(np.ones(asked.size, dtype=bool))
    assert found is not None
    others = rng.choice(asked.margins.string.size, 7, replace=False)
    among = found.copy()
    among[others] = True
    again = conflicts.found(among)
    assert again is not None
    members = np.flatnonzero(among)
    size = int(again.sum())
    # a smaller set short by less than this counts as met
    for count in range(1, size):
        for some in combinations(members.tolist(), count):
            chosen = np.zeros(asked.size, dtype=bool)
            chosen[list(some)] = True
            assert short_mm(asked, chosen) < SHORT_MM


def test_giving_way_alike_is_what_the_solver_says(tiny: Instrument, make_shape: MakeShape) -> None:
    asked = asked_of(tiny, make_shape, 3)
    every = np.ones(asked.size, dtype=bool)
    y = Conflicts(asked).weights(every)
    assert y is not None
    assert 1.0 / y.sum() == pytest.approx(short_mm(asked, every), abs=1e-6)


def test_columns_free_both_ways_leave_less_in_conflict(
    tiny: Instrument, make_shape: MakeShape
) -> None:
    """Where a top may rise too, only what the strings ask of one another is left."""
    asked = asked_of(tiny, make_shape, 4, force=0.5, action=2.4, least=0.99, bend=0.0)
    every = np.ones(asked.size, dtype=bool)
    assert Conflicts(asked).found(every) is not None
    cuts = np.arange(asked.matrix.shape[1]) < 26
    without_limits = asked.is_kind("margin") | asked.is_kind("action")
    assert Conflicts(asked, cuts).found(without_limits) is None


def test_sets_share_nothing_and_name_what_is_in_the_way(
    tiny: Instrument, make_shape: MakeShape
) -> None:
    """Fret 5 worn: played there, both strings lie too low over fret 6, which may not be cut."""
    high = np.full((13, 2), 1.0)
    high[4] -= 0.25
    playing = replace(
        built_in_profile("everyday", 2),
        bend_semitones=0.0,
        least_fret_mm=0.7,
        highest_action_mm={1: 2.4, 2: 2.6},
    )
    shape = make_shape(tiny, high, relief_mm=0.1)
    shape.height_mm[5] = 0.7
    planner = planner_for(shape, tiny, playing, default_rod(tiny, shape.x_mm))
    limits = planner.limits(playing, Target(frozenset({"rod", "saddles"})))
    found = blocking(planner, planner.margins, limits)
    first = {h.member.kind: h for h in found[0].hurdles}
    assert set(first) == {"margin", "cut", "saddle up", "rod add"}
    margin, cut = first["margin"].member, first["cut"]
    assert (margin.string, margin.fretted, margin.at) == (1, 5, 6)
    assert (cut.member.at, cut.now_mm, cut.limit_mm) == (6, 0.7, 0.0)
    assert first["saddle up"].limit_mm == first["rod add"].limit_mm == 0.0
    # as much as is missing, shared by all of them as they bear on it
    missing = first["margin"].limit_mm - (first["margin"].now_mm or 0.0)
    assert 0.2 * missing < found[0].short_mm < missing
    assert not found[0].any_frets
    assert {h.member.string for one in found for h in one.hurdles} >= {1, 2}
    # what is a string's own is in one set; the rod is all strings'
    members = [h.member for one in found for h in one.hurdles if h.member.string]
    assert len(members) == len(set(members))


@pytest.mark.parametrize(("deep", "other", "kind"), [(0, 1, "step up"), (1, 0, "step down")])
def test_a_step_too_steep_for_a_file_is_that_fret_and_those_strings(
    tiny: Instrument, make_shape: MakeShape, deep: int, other: int, kind: str
) -> None:
    playing = replace(built_in_profile("everyday", 2), bend_semitones=0.0)
    planner = planner_of(tiny, make_shape, playing, 1)
    asked = demands(planner.rows, planner.margins, planner.limits(playing, Target()))
    v = np.zeros(asked.matrix.shape[1])
    v[2 * 2 + deep] = planner.rows.most_step_mm[2] + 0.01
    v[2 * 2 + other] = 0.005
    missed = np.flatnonzero(asked.matrix @ v < asked.least_mm - 1e-9)
    members = [asked.member(int(i)) for i in missed]
    assert [(m.kind, m.string, m.at) for m in members if m.kind.startswith("step")] == [
        (kind, 1, 3)
    ]
    v[2 * 2 + other] = 0.011
    missed = np.flatnonzero(asked.matrix @ v < asked.least_mm - 1e-9)
    assert not any(asked.member(int(i)).kind.startswith("step") for i in missed)
