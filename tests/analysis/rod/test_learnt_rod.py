"""The rod learnt from turns whose effect is known."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.instrument import Instrument, joint_mm
from analysis.rod.gain import STAND_IN, U_TURN
from analysis.rod.learnt import MOST_RELIEF_MM, learn_rod
from analysis.rod.rod import relief_cases
from analysis.rod.turned import past_mm, relief_change_mm, tops_mm

Array = np.ndarray
MakeRod = Callable[..., Any]


def test_an_even_bend_is_learnt_whole(bench: Any, true_rod: MakeRod) -> None:
    """However the neck lies the second time."""
    rod, walnut = true_rod(0.25), bench.instrument
    tight = bench.at(rod, 0.25, lie=(0.05, 2e-4, 1e-3))
    turned = bench.turned((0.0, bench.at(rod, 0.0)), (0.25, tight))
    learnt = learn_rod(turned, walnut, strung=True)
    assert learnt.rod.learnt
    assert learnt.rod.mm_per_turn == pytest.approx(0.25, rel=2e-3)
    x, _ = tops_mm(walnut)
    _, follows = relief_cases(walnut, x)
    np.testing.assert_allclose(learnt.rod.cases[0].tops, follows.tops, atol=0.01)
    np.testing.assert_allclose(learnt.rod.cases[0].saddle, follows.saddle, rtol=0.02)
    assert learnt.uneven < 0.01
    assert learnt.follows == pytest.approx(1.0, abs=0.02)
    assert learnt.twist_mrad_per_turn == pytest.approx(0.0, abs=0.02)
    assert learnt.agree is None
    assert learnt.linear is None


def test_equal_end_moments_bend_as_the_table_says(
    walnut: Instrument, make_bench: MakeRod, beam_table: dict[str, float]
) -> None:
    """A rod in a groove under the neck's axis pulls its two ends into equal end moments."""
    stretch = 450.0 / joint_mm(walnut)
    long = replace(
        walnut, scale_bass_mm=641.0 * stretch, scale_treble_mm=641.0 * stretch, frets=19,
        body_joint_fret=16,
    )  # fmt: skip
    rigged = make_bench(long)
    end_m, stiffness_n_m2, moment_n_m = 0.450, 378.0, 5.0

    class Beam:
        def lift_mm(self, instrument: Instrument, x: Array, y: Array) -> Array:
            at = 1e-3 * np.minimum(x, 450.0)
            lift = 1e3 * moment_n_m * at * (end_m - at) / (2.0 * stiffness_n_m2)
            slope = moment_n_m * end_m / (2.0 * stiffness_n_m2)
            return lift - slope * np.clip(x - 450.0, 0.0, None)

    turned = rigged.turned((0.0, rigged.neck), (1.0, rigged.at(Beam(), 1.0)))
    learnt = learn_rod(turned, long, strung=True)
    x, _ = tops_mm(long)
    lift = -learnt.rod.mm_per_turn * learnt.rod.cases[0].tops[:, 0]
    between = np.polyval(np.polyfit(x[:16, 0], lift[:16], 2), 225.0)
    assert between == pytest.approx(beam_table["supported equal end moments midspan"], rel=3e-3)


@settings(max_examples=15, deadline=None)
@given(
    bend=st.floats(0.08, 0.6),
    follows=st.floats(0.0, 1.0),
    twist=st.floats(-1.0, 1.0),
    start=st.floats(-1.0, 1.0),
    turns=st.floats(0.2, 0.5),
    loosen=st.booleans(),
)
def test_any_rod_is_learnt_either_way(
    bench: Any, true_rod: MakeRod, bend: float, follows: float, twist: float, start: float,
    turns: float, loosen: bool,
) -> None:  # fmt: skip
    """Whatever the heel gives back of the tangent."""
    rod, walnut = true_rod(bend, follows, twist), bench.instrument
    end = start - turns if loosen else start + turns
    learnt = learn_rod(
        bench.turned((start, bench.at(rod, start)), (end, bench.at(rod, end))), walnut, strung=True
    )
    gain = rod.mm_per_turn(walnut)
    assert learnt.rod.mm_per_turn == pytest.approx(gain, rel=2e-3)
    assert learnt.twist_mrad_per_turn == pytest.approx(twist, abs=0.02)
    x, past = tops_mm(walnut)[0], past_mm(walnut)
    true = rod.framed(walnut, x) / -gain
    np.testing.assert_allclose(learnt.rod.cases[0].tops[:, 2:4], true[:, 2:4], atol=0.01)
    even = relief_cases(walnut, x)[1]
    share = np.sum(past * true) / np.sum(past * even.tops)
    assert learnt.follows == pytest.approx(share, abs=0.01)
    np.testing.assert_allclose(learnt.rod.cases[0].saddle, share * even.saddle, atol=0.03)


def test_what_is_said_of_the_doubt_holds(bench: Any, true_rod: MakeRod) -> None:
    """120 draws: scans with noise, and a hand that does not quite turn what it says."""
    rng, rod, walnut = np.random.default_rng(11), true_rod(0.25, 0.8), bench.instrument
    gain = rod.mm_per_turn(walnut)
    true = rod.framed(walnut, tops_mm(walnut)[0]) / -gain
    pulls, scan_pulls, tops_pulls = [], [], []
    for _ in range(120):
        really = 0.25 + U_TURN * rng.normal()
        ends = (0.0, bench.at(rod, 0.0, rng)), (0.25, bench.at(rod, really, rng))
        learnt = learn_rod(bench.turned(*ends), walnut, strung=True)
        pulls.append((learnt.rod.mm_per_turn - gain) / learnt.rod.u_mm_per_turn)
        (seen,) = learnt.seen
        scan_pulls.append((seen.relief_change_mm + gain * really) / seen.u_relief_change_mm)
        tops_pulls.append((learnt.rod.cases[0].tops - true)[:15] / learnt.u_tops[:15])
    for found in (np.array(pulls), np.array(scan_pulls)):
        assert abs(np.mean(found)) < 0.35
        assert 0.75 < np.std(found) < 1.25
    assert np.mean(np.abs(tops_pulls) < 2.0) > 0.9


def test_more_turns_know_more(bench: Any, true_rod: MakeRod) -> None:
    rng, rod = np.random.default_rng(5), true_rod(0.3)
    ends = [(turns, bench.at(rod, turns, rng)) for turns in (0.0, 0.25, 0.5, 0.75)]
    turned = bench.turned(*ends)
    alone = learn_rod(turned[:1], bench.instrument, strung=True)
    together = learn_rod(turned, bench.instrument, strung=True)
    assert len(together.seen) == 3
    assert together.rod.u_mm_per_turn < 0.65 * alone.rod.u_mm_per_turn
    assert together.rod.mm_per_turn == pytest.approx(0.3, abs=2.0 * together.rod.u_mm_per_turn)
    assert together.linear
    assert together.slack == 0


def test_there_and_back_shares_the_scan_between(bench: Any, true_rod: MakeRod) -> None:
    """The middle scan errs in both turns: two turns over it know less than two apart."""
    rng, rod = np.random.default_rng(6), true_rod(0.3)
    there, loose = bench.at(rod, 0.25, rng), bench.at(rod, 0.0, rng)
    shared = bench.turned((0.0, loose), (0.25, there), (0.0, bench.at(rod, 0.0, rng)))
    apart = [shared[0], replace(shared[1], before=replace(there))]
    tops = [learn_rod(turned, bench.instrument, True).u_tops.mean() for turned in (shared, apart)]
    assert tops[0] == pytest.approx(np.sqrt(1.5) * tops[1], rel=0.02)


def test_a_rod_that_is_slack_at_first(bench: Any, true_rod: MakeRod) -> None:
    """What the loosest quarter does not do is no part of what the rod does once it grips."""
    rng, rod = np.random.default_rng(7), true_rod(0.3)
    ends = [(0.0, 0.0), (0.25, 0.02), (0.5, 0.27), (0.75, 0.52)]
    turned = bench.turned(*((said, bench.at(rod, acts, rng)) for said, acts in ends))
    learnt = learn_rod(turned, bench.instrument, strung=True)
    steady = learn_rod(turned[1:], bench.instrument, strung=True)
    assert (learnt.slack, learnt.linear) == (1, False)
    assert (steady.slack, steady.linear) == (0, True)
    assert len(learnt.seen) == 3
    assert learnt.seen[0].mm_per_turn < 0.1 * learnt.rod.mm_per_turn
    assert learnt.rod.mm_per_turn == pytest.approx(steady.rod.mm_per_turn, rel=1e-6)
    assert learnt.rod.u_mm_per_turn == pytest.approx(steady.rod.u_mm_per_turn, rel=1e-6)
    # whichever way it was turned
    back = bench.turned(*((said, bench.at(rod, acts, rng)) for said, acts in reversed(ends)))
    assert learn_rod(back, bench.instrument, strung=True).slack == 1


def test_turns_that_differ_otherwise_widen_the_doubt(bench: Any, true_rod: MakeRod) -> None:
    rng, rod = np.random.default_rng(7), true_rod(0.3)
    ends = [(0.0, 0.0), (0.25, 0.25), (0.5, 0.42), (0.75, 0.67), (1.0, 0.92)]
    turned = bench.turned(*((said, bench.at(rod, acts, rng)) for said, acts in ends))
    learnt = learn_rod(turned, bench.instrument, strung=True)
    assert (learnt.slack, learnt.linear) == (0, False)
    hand = U_TURN * learnt.rod.mm_per_turn / np.sqrt(4 * 0.25**2)
    assert learnt.rod.u_mm_per_turn > 1.5 * hand


def test_an_unstrung_neck_stands_in_less_truly(bench: Any, true_rod: MakeRod) -> None:
    rod = true_rod(0.25)
    turned = bench.turned((0.0, bench.at(rod, 0.0)), (0.25, bench.at(rod, 0.25)))
    strung, unstrung = (learn_rod(turned, bench.instrument, state).rod for state in (True, False))
    assert unstrung.mm_per_turn == strung.mm_per_turn
    more = np.sqrt(unstrung.u_mm_per_turn**2 - strung.u_mm_per_turn**2)
    assert more == pytest.approx(STAND_IN * strung.mm_per_turn, rel=1e-6)


def test_strings_press_a_neck_by_no_more_than_that(beam_table: dict[str, float]) -> None:
    first, secant = (
        beam_table[f"eccentric pull {way} midspan"] for way in ("first order", "secant")
    )
    assert secant / first - 1.0 == pytest.approx(STAND_IN, abs=0.005)


@pytest.mark.parametrize(
    ("acts", "says"),
    [(-0.25, "tightening added relief"), (0.0, "too little"), (0.005, "too little")],
)
def test_what_is_no_rod_is_refused(bench: Any, true_rod: MakeRod, acts: float, says: str) -> None:
    rng, rod = np.random.default_rng(8), true_rod(0.25)
    turned = bench.turned((0.0, bench.at(rod, 0.0, rng)), (0.25, bench.at(rod, acts, rng)))
    with pytest.raises(ValueError, match=says):
        learn_rod(turned, bench.instrument, strung=True)


def test_tops_that_were_filed_in_between_say_nothing(bench: Any, true_rod: MakeRod) -> None:
    rng, rod = np.random.default_rng(9), true_rod(0.25)
    before, after = bench.at(rod, 0.0, rng), bench.at(rod, 0.25, rng)
    planned = np.zeros((22, 6))
    planned[3:15] = 60.0
    cut = after.top_mm.copy()
    cut[3:15] -= 0.06
    (turn,) = bench.turned((0.0, before), (0.25, replace(after, top_mm=cut)))
    learnt = learn_rod([replace(turn, planned_um=planned)], bench.instrument, strung=True)
    whole = learn_rod(bench.turned((0.0, before), (0.25, after)), bench.instrument, strung=True)
    assert learnt.rod.mm_per_turn == pytest.approx(whole.rod.mm_per_turn, abs=0.004)
    assert learnt.seen[0].u_relief_change_mm > whole.seen[0].u_relief_change_mm


def test_clampings_known_to_bend_the_neck_are_in_the_doubt(bench: Any, true_rod: MakeRod) -> None:
    rod = true_rod(0.25)
    before, after = bench.at(rod, 0.0), bench.at(rod, 0.25)
    bends = np.full_like(after.top_mm, 0.002)
    clamped = replace(after, terms=after.terms.also(clamping=bends))
    plain = learn_rod(bench.turned((0.0, before), (0.25, after)), bench.instrument, True)
    told = learn_rod(bench.turned((0.0, before), (0.25, clamped)), bench.instrument, True)
    more = told.seen[0].u_relief_change_mm ** 2 - plain.seen[0].u_relief_change_mm ** 2
    # half of each end and all of the middle
    assert np.sqrt(more) == pytest.approx(0.002 * np.sqrt(1.5), rel=0.05)


def test_a_bend_that_nobody_spoke_of(bench: Any, true_rod: MakeRod) -> None:
    rng, rod = np.random.default_rng(14), true_rod(0.25)
    (turn,) = bench.turned((0.0, bench.at(rod, 0.0, rng)), (0.0, bench.at(rod, 0.25, rng)))
    change, u = relief_change_mm(turn, bench.instrument)
    assert change == pytest.approx(-0.0625, abs=3.0 * u + 5e-5)
    assert 0.0 < u < 1e-3


def test_the_cases_a_plan_must_survive(bench: Any, true_rod: MakeRod) -> None:
    rng, rod, walnut = np.random.default_rng(10), true_rod(0.25), bench.instrument
    turned = bench.turned((0.0, bench.at(rod, 0.0, rng)), (0.25, bench.at(rod, 0.25, rng)))
    learnt = learn_rod(turned, walnut, strung=True)
    cases, gain, u = learnt.rod.cases, learnt.rod.mm_per_turn, learnt.rod.u_mm_per_turn
    strength = [case.tops[7, 2] / cases[0].tops[7, 2] for case in cases]
    assert min(strength) == pytest.approx(1.0 - 2.0 * u / gain, rel=1e-6)
    assert max(strength) == pytest.approx(1.0 + 2.0 * u / gain, rel=1e-6)
    share = walnut.fret_x_mm(12.0, 1.0) / walnut.saddle_x_mm(1.0)
    for case in cases:
        np.testing.assert_allclose(
            share * case.saddle - case.tops[11], share * cases[0].saddle - cases[0].tops[11],
            atol=1e-12,
        )  # fmt: skip
    bent = [np.abs(case.tops - cases[0].tops) for case in cases[3:5]]
    spread = 2.0 * np.linalg.norm(learnt.u_tops)
    for off in bent:
        assert np.linalg.norm(off) == pytest.approx(spread, rel=1e-6)
    assert learnt.rod.most_relief_mm == pytest.approx(MOST_RELIEF_MM)


def test_turns_that_do_not_agree_at_all(bench: Any, true_rod: MakeRod) -> None:
    rng, rod = np.random.default_rng(13), true_rod(0.25)
    turned = bench.turned(
        *((said, bench.at(rod, acts, rng)) for said, acts in [(0, 0), (0.25, 0.5), (0.5, 0.45)])
    )
    with pytest.raises(ValueError, match="do not agree"):
        learn_rod(turned, bench.instrument, strung=True)


@pytest.mark.parametrize("how", ["not seen", "no beam's"])
def test_frets_past_the_joint_that_do_not_tell(bench: Any, true_rod: MakeRod, how: str) -> None:
    """A gap in the scan there, or a body that sags by itself: both bounds, as without a scan."""
    rng, rod, walnut = np.random.default_rng(12), true_rod(0.25), bench.instrument
    after = bench.at(rod, 0.25, rng)
    tops = after.top_mm.copy()
    tops[16:] = np.nan if how == "not seen" else tops[16:] + 0.1 * rng.normal(size=(6, 1))
    turned = bench.turned((0.0, bench.at(rod, 0.0, rng)), (0.25, replace(after, top_mm=tops)))
    learnt = learn_rod(turned, walnut, strung=True)
    assert np.isnan(learnt.follows)
    assert learnt.rod.mm_per_turn == pytest.approx(0.25, rel=0.02)
    still, follows = relief_cases(walnut, tops_mm(walnut)[0])
    cases = learnt.rod.cases
    assert np.all(cases[0].tops[16:] == 0.0)
    assert np.all(cases[0].saddle == still.saddle)
    assert any(np.allclose(case.tops[16:], follows.tops[16:]) for case in cases)


def test_a_weak_rod_is_turned_once_at_most(bench: Any, true_rod: MakeRod) -> None:
    rod = true_rod(0.1)
    turned = bench.turned((0.0, bench.at(rod, 0.0)), (0.5, bench.at(rod, 0.5)))
    assert learn_rod(turned, bench.instrument, strung=True).rod.most_turns == 1.0
