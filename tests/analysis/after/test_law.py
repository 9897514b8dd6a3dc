"""The removal law of one tool in one metal: few cuts, many, several sessions, slips."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.after.law import Law, Session, fit_law

GAIN, OFFSET = 0.88, -0.4


def session(
    seed: int,
    n: int = 30,
    u_planned: float = 0.7,
    u_achieved: float = 1.0,
    scatter: float = 1.0,
    gain: float = GAIN,
    offset: float = OFFSET,
    deepest_um: float = 60.0,
) -> Session:
    """Planned and achieved as measured, both with their errors, and the hand's own."""
    rng = np.random.default_rng(seed)
    true = rng.uniform(5.0, deepest_um, n)
    achieved = offset + gain * true + rng.normal(0.0, scatter, n) + rng.normal(0.0, u_achieved, n)
    planned = true + rng.normal(0.0, u_planned, n)
    return Session(planned, achieved, np.full(n, u_planned), np.full(n, u_achieved))


@pytest.mark.parametrize("u_planned", [0.3, 1.5, 4.0])
def test_gain_is_recovered_with_errors_in_both(u_planned: float) -> None:
    laws = [fit_law([session(seed, 60, u_planned)]) for seed in range(60)]
    gains = np.array([law.gain for law in laws])
    # what is left of the attenuation at 4 um: the scatter's estimate never goes below zero
    assert np.mean(gains) == pytest.approx(GAIN, abs=0.008 if u_planned < 4.0 else 0.015)


@pytest.mark.parametrize("scatter", [0.0, 1.0, 5.0])
def test_scatter_of_the_hand_is_told(scatter: float) -> None:
    laws = [fit_law([session(seed, 60, 0.3, 1.0, scatter)]) for seed in range(30)]
    assert np.mean([law.scatter_um for law in laws]) == pytest.approx(scatter, rel=0.15, abs=0.35)


@pytest.mark.parametrize("slips", [1, 3])
@pytest.mark.parametrize("slip_um", [60.0, -25.0])
def test_slips_are_left_out(slips: int, slip_um: float) -> None:
    for seed in range(10):
        one = session(seed)
        one.achieved_um[:slips] += slip_um
        law = fit_law([one])
        assert law.cuts == pytest.approx(30 - slips, abs=1)
        assert law.gain == pytest.approx(GAIN, abs=4.0 * law.u_gain)
        assert law.u_gain < 0.03
        assert law.scatter_um < 3.0


def test_a_session_of_one_slip_is_left_out() -> None:
    """It has no line of its own to be held against, so it is held against the others'."""
    slip = Session(np.array([30.0]), np.array([80.0]), np.array([0.1]), np.array([1.0]))
    assert fit_law([session(1), slip]).cuts == 30
    fine = Session(np.array([30.0]), np.array([26.0]), np.array([0.1]), np.array([1.0]))
    assert fit_law([session(1), fine]).cuts == 31


def test_an_exact_law_on_rounded_values() -> None:
    """Median deviation zero: nothing is a slip."""
    planned = np.arange(10.0, 60.0, 5.0)
    law = fit_law([Session(planned, 0.9 * planned - 1.0, np.zeros(10), np.zeros(10))])
    assert law.cuts == 10
    # the offset is drawn to nothing, by less than it is said to be known
    assert law.offset_um == pytest.approx(-1.0, abs=law.u_offset_um)
    assert law.offset_um + law.gain * 32.5 == pytest.approx(0.9 * 32.5 - 1.0, abs=0.3)
    assert law.scatter_um < 0.1
    assert (law.shallowest_um, law.deepest_um) == (10.0, 55.0)


def test_unknown_cuts_are_left_out() -> None:
    one = session(1)
    one.achieved_um[3] = np.nan
    assert fit_law([one]).cuts == 29


@pytest.mark.parametrize("planned", [[], [10.0, 20.0], [10.0, 10.0, 10.0]])
def test_too_few_or_all_alike_are_no_law(planned: list[float]) -> None:
    x = np.array(planned)
    with pytest.raises(ValueError, match="at least 3 cuts of different depth"):
        fit_law([Session(x, x, np.ones_like(x), np.ones_like(x))])


def test_no_session_is_no_law() -> None:
    with pytest.raises(ValueError, match="at least 3 cuts"):
        fit_law([])


def test_few_shallow_cuts_stay_near_what_was_thought_before() -> None:
    """Three cuts under 6 um that scatter say little: the gain stays between them and before."""
    rng = np.random.default_rng(3)
    far = []
    for _ in range(50):
        planned = np.array([2.0, 4.0, 6.0])
        achieved = 0.88 * planned + rng.normal(0.0, 1.4, 3)
        one = Session(planned, achieved, np.full(3, 0.03), np.full(3, 0.8))
        law = fit_law([one], gain=0.9, u_gain=0.1)
        far.append(law.gain - 0.9)
        assert law.u_gain > 0.06
    assert np.sqrt(np.mean(np.square(far))) < 0.06


def test_sessions_that_differ_widen_what_is_known() -> None:
    """Gains of 0.80, 0.88 and 0.96 on three days: u is that of three values, not of 90 cuts."""
    alike = fit_law([session(seed) for seed in range(3)])
    differ = fit_law([session(seed, gain=0.80 + 0.08 * seed) for seed in range(3)])
    assert alike.sessions == differ.sessions == 3
    assert differ.gain == pytest.approx(0.88, abs=0.02)
    assert alike.day_gain < 0.025
    assert 0.04 < differ.day_gain < 0.1
    assert alike.u_gain < 0.018
    assert differ.u_gain > 1.6 * alike.u_gain


def history(rng: np.random.Generator, sessions: int) -> tuple[list[Session], float]:
    """A hand with a day of its own each session, and the gain its days scatter about."""
    gain, offset = rng.normal(0.9, 0.1), rng.normal(0.0, 0.5)
    scatter, day = rng.choice([0.5, 1.0, 2.0]), abs(rng.normal(0.0, 0.02))
    out = []
    for _ in range(sessions):
        n = int(rng.integers(5, 30))
        x = rng.gamma(1.5, 15.0, n) + 0.5
        today, shared = gain + rng.normal(0.0, day), rng.normal(0.0, 0.3)
        y = offset + shared + today * x + rng.normal(0.0, np.hypot(scatter, 0.8), n)
        out.append(Session(np.round(x, 1), y, np.full(n, 0.03), np.full(n, 0.8)))
    return out, gain


def _inside(law: Law, gain: float) -> bool:
    return abs(law.gain - gain) < 1.96 * law.u_gain


@pytest.mark.parametrize("sessions", [1, 3, 5])
def test_intervals_hold(sessions: int) -> None:
    """Of 60 histories each, drawn as `history` says; 95 in 100 by their own word."""
    rng = np.random.default_rng(sessions)
    held = [
        _inside(fit_law(past), gain) for past, gain in (history(rng, sessions) for _ in range(60))
    ]
    assert np.mean(held) >= 0.88


@pytest.mark.campaign
@pytest.mark.parametrize("sessions", [1, 2, 3, 4, 5])
def test_intervals_hold_over_many_histories(sessions: int) -> None:
    rng = np.random.default_rng(100 + sessions)
    held = [
        _inside(fit_law(past), gain) for past, gain in (history(rng, sessions) for _ in range(600))
    ]
    # 600 trials of 95 %: 0.9 % standard deviation
    assert 0.925 <= np.mean(held) <= 0.985
