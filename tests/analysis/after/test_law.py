"""The removal law and what it makes of an aim."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.after.law import Law, aim_um, fit_law

GAIN, OFFSET = 0.88, -0.4


def cuts(
    seed: int, n: int = 30, u_planned: float = 0.7, u_achieved: float = 1.0, scatter: float = 1.0
) -> tuple[np.ndarray, ...]:
    """Planned and achieved as measured, both with their errors, and the hand's own."""
    rng = np.random.default_rng(seed)
    true = rng.uniform(5.0, 60.0, n)
    achieved = OFFSET + GAIN * true + rng.normal(0.0, scatter, n) + rng.normal(0.0, u_achieved, n)
    planned = true + rng.normal(0.0, u_planned, n)
    return planned, achieved, np.full(n, u_planned), np.full(n, u_achieved)


@pytest.mark.parametrize("u_planned", [0.3, 1.5, 4.0])
def test_gain_is_recovered_with_errors_in_both(u_planned: float) -> None:
    laws = [fit_law(*cuts(seed, 60, u_planned)) for seed in range(60)]
    gains = np.array([law.gain for law in laws])
    u = np.array([law.u_gain for law in laws])
    # what is left of the attenuation at 4 um: the scatter's estimate never goes below zero
    assert np.mean(gains) == pytest.approx(GAIN, abs=0.008 if u_planned < 4.0 else 0.015)
    assert np.std(gains) == pytest.approx(np.mean(u), rel=0.35)
    assert np.mean(np.abs(gains - GAIN) < 2.0 * u) > 0.88


@pytest.mark.parametrize("scatter", [0.0, 1.0, 5.0])
def test_scatter_of_the_hand_is_told(scatter: float) -> None:
    laws = [fit_law(*cuts(seed, 60, 0.3, 1.0, scatter)) for seed in range(30)]
    assert np.mean([law.scatter_um for law in laws]) == pytest.approx(scatter, rel=0.15, abs=0.35)


@pytest.mark.parametrize("slips", [1, 3])
@pytest.mark.parametrize("slip_um", [60.0, -25.0])
def test_slips_are_left_out(slips: int, slip_um: float) -> None:
    for seed in range(10):
        planned, achieved, u_planned, u_achieved = cuts(seed)
        achieved[:slips] += slip_um
        law = fit_law(planned, achieved, u_planned, u_achieved)
        assert law.cuts == pytest.approx(30 - slips, abs=1)
        assert law.gain == pytest.approx(GAIN, abs=4.0 * law.u_gain)
        assert law.u_gain < 0.03
        assert law.scatter_um < 3.0


def test_an_exact_law_on_rounded_values() -> None:
    """Median deviation zero: nothing is a slip."""
    planned = np.arange(10.0, 60.0, 5.0)
    law = fit_law(planned, 0.9 * planned - 1.0, np.zeros(10), np.zeros(10))
    assert law.gain == pytest.approx(0.9, abs=1e-6)
    assert law.offset_um == pytest.approx(-1.0, abs=1e-4)
    assert law.cuts == 10
    assert law.scatter_um == pytest.approx(0.0, abs=1e-3)


def test_unknown_cuts_are_left_out() -> None:
    planned, achieved, u_planned, u_achieved = cuts(1)
    achieved[3] = np.nan
    assert fit_law(planned, achieved, u_planned, u_achieved).cuts == 29


@pytest.mark.parametrize("planned", [[10.0, 20.0], [10.0, 10.0, 10.0]])
def test_too_few_or_all_alike_are_no_law(planned: list[float]) -> None:
    x = np.array(planned)
    with pytest.raises(ValueError, match="at least 3 cuts of different depth"):
        fit_law(x, x, np.ones_like(x), np.ones_like(x))


def test_without_a_law_the_aim_is_what_is_wanted() -> None:
    wanted = np.array([0.0, 12.0])
    assert aim_um(wanted, None).tolist() == [0.0, 12.0]


LAWS = st.builds(
    Law,
    gain=st.floats(0.3, 3.0),
    u_gain=st.floats(0.0, 0.1),
    offset_um=st.floats(-10.0, 30.0),
    u_offset_um=st.floats(0.0, 3.0),
    scatter_um=st.floats(0.0, 5.0),
    cuts=st.just(10),
)


@settings(deadline=None, max_examples=200)
@given(LAWS, st.lists(st.floats(0.0, 80.0), min_size=1, max_size=8))
def test_the_aim_never_overreaches(law: Law, wanted: list[float]) -> None:
    want = np.array(wanted)
    aim = aim_um(want, law)
    assert np.all(aim >= 0.0)
    assert np.all(aim[want == 0.0] == 0.0)
    lands = law.offset_um + law.gain * aim
    assert np.all((lands <= want + 1e-9) | (aim == 0.0))


@settings(deadline=None, max_examples=100)
@given(st.floats(0.7, 1.1), st.floats(0.0, 0.02), st.floats(-1.0, 1.0), st.floats(15.0, 80.0))
def test_a_known_hand_gets_near(gain: float, u: float, offset: float, wanted: float) -> None:
    law = Law(gain, u, offset, 0.3, 1.0, 20)
    lands = offset + gain * float(aim_um(np.array([wanted]), law)[0])
    doubt = 2.0 * np.hypot(u * (wanted - offset) / gain, 0.3) + 1.0
    assert lands == pytest.approx(wanted - doubt, abs=1e-9)


def test_a_chosen_aim_is_seldom_passed() -> None:
    """Fitted, aimed by and cut by the same hand: a hand's scatter past the aim, no more."""
    past = []
    for seed in range(200):
        law = fit_law(*cuts(seed))
        rng = np.random.default_rng(1000 + seed)
        aim = aim_um(np.array([20.0, 40.0]), law)
        landed = OFFSET + GAIN * aim + rng.normal(0.0, 1.0, 2)
        past.append(landed > np.array([20.0, 40.0]))
    assert np.mean(past) < 0.12
