"""What is aimed at by a law: sure not to go past, never wild, no deeper than what was seen."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.after.aim import aim_um, sure_um
from analysis.after.law import Law, Session, fit_law

LAWS = st.builds(
    Law,
    gain=st.floats(0.2, 3.0),
    u_gain=st.floats(0.0, 0.3),
    offset_um=st.floats(-10.0, 30.0),
    u_offset_um=st.floats(0.01, 3.0),
    scatter_um=st.floats(0.0, 5.0),
    cuts=st.just(10),
    sessions=st.just(2),
    day_gain=st.floats(0.0, 0.1),
    correlation=st.floats(-0.95, 0.95),
    shallowest_um=st.floats(0.0, 10.0),
    deepest_um=st.floats(10.0, 100.0),
)
WANTED = st.lists(st.floats(0.0, 120.0), min_size=2, max_size=8)


def test_without_a_law_the_aim_is_what_is_wanted() -> None:
    wanted = np.array([0.0, 12.0])
    assert aim_um(wanted, None).tolist() == [0.0, 12.0]


@settings(deadline=None, max_examples=300)
@given(LAWS, WANTED)
def test_the_aim_is_never_negative_and_never_past(law: Law, wanted: list[float]) -> None:
    want = np.array(wanted)
    aim = aim_um(want, law)
    assert np.all(aim >= 0.0)
    assert np.all(aim[want == 0.0] == 0.0)
    assert np.all((sure_um(aim, law) <= want + 1e-6) | (aim == 0.0))


@settings(deadline=None, max_examples=300)
@given(LAWS, WANTED)
def test_who_wants_more_aims_at_no_less(law: Law, wanted: list[float]) -> None:
    assert np.all(np.diff(aim_um(np.sort(wanted), law)) >= -1e-9)


@settings(deadline=None, max_examples=200)
@given(LAWS, WANTED)
def test_deeper_than_seen_comes_off_whole_for_all_one_knows(law: Law, wanted: list[float]) -> None:
    """What a hand leaves at depths it was seen at says nothing of deeper ones."""
    want = np.array(wanted)
    aim = aim_um(want, law)
    deep = aim > law.deepest_um
    known = sure_um(np.array(law.deepest_um), law)
    assert np.all(known + (aim - law.deepest_um)[deep] <= want[deep] + 1e-6)
    assert np.all(aim[aim < law.shallowest_um] <= want[aim < law.shallowest_um])


def test_a_known_hand_gets_near() -> None:
    """0.88, well known: 40 um are aimed at with 43, less what a cut scatters."""
    law = Law(0.88, 0.005, 0.0, 0.2, 1.0, 60, deepest_um=80.0)
    (aim,) = aim_um(np.array([40.0]), law)
    assert 0.88 * aim == pytest.approx(40.0 - 1.645 * np.hypot(1.02, 0.005 * aim), abs=0.02)


def test_a_hand_that_takes_more_aims_at_less() -> None:
    law = Law(1.3, 0.02, 0.5, 0.2, 0.5, 30)
    aim = aim_um(np.array([5.0, 40.0]), law)
    assert np.all(0.5 + 1.3 * aim < [5.0, 40.0])
    assert 26.0 < aim[1] < 30.0


def test_a_tool_that_always_takes_much_is_no_tool_for_little() -> None:
    law = Law(0.9, 0.02, 6.0, 0.3, 1.0, 30)
    assert aim_um(np.array([5.0, 7.0, 30.0]), law)[:2].tolist() == [0.0, 0.0]


def test_a_law_that_knows_nothing_aims_at_nothing() -> None:
    """Gain 0.5 give or take 0.4: no aim is sure."""
    assert aim_um(np.array([50.0]), Law(0.5, 0.4, 0.0, 0.5, 1.0, 3)).tolist() == [0.0]


def test_more_doubt_never_aims_deeper() -> None:
    sure = Law(0.88, 0.01, 0.0, 0.3, 1.0, 30)
    aims = [
        float(aim_um(np.array([40.0]), replace(sure, **change))[0])
        for change in ({}, {"u_gain": 0.05}, {"scatter_um": 3.0}, {"day_gain": 0.05})
    ]
    assert max(aims[1:]) < aims[0]


def test_95_of_100_cuts_stop_short() -> None:
    """Learnt from one day, used on another: a hand's day, its single cuts, the fit's own error."""
    rng = np.random.default_rng(8)
    past = []
    for _ in range(600):
        gain, day, offset = rng.normal(0.9, 0.08), abs(rng.normal(0.0, 0.02)), rng.normal(0.0, 0.5)
        x = rng.uniform(3.0, 60.0, 18)
        y = (
            offset
            + (gain + rng.normal(0, day)) * x
            + rng.normal(0, 1.0, 18)
            + rng.normal(0, 0.8, 18)
        )
        law = fit_law([Session(x, y, np.full(18, 0.03), np.full(18, 0.8))])
        want = np.array([10.0, 25.0, 50.0])
        aim = aim_um(want, law)
        landed = offset + (gain + rng.normal(0, day)) * aim + rng.normal(0, 1.0, 3)
        past.append(landed > want)
    assert np.mean(past) <= 0.055
    assert np.mean(past) > 0.015
