"""What a straight beam does of the plan by itself."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.bench.beam import beam_setting
from analysis.bench.bending import BENCH_RELIEF_MM, rod_bending
from analysis.bench.setting import BeamSetting
from analysis.bench.straight import MOST_DOUBT_MM, U_SET_MM
from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.rod.rod import Rod, RodCase, default_rod, relief_cases

MakeShape = Callable[..., Shape]


def xs(it: Instrument) -> np.ndarray:
    return it.fret_x_mm(np.arange(1.0, it.frets + 1)[:, None], it.string_numbers[None, :])


def known_rod(it: Instrument) -> Rod:
    """A rod of which only one way to act is left."""
    one = relief_cases(it, xs(it))[:1]
    return Rod(one, one, 0.4, 0.0, 0.5, learnt=True)


def unit(it: Instrument, case: RodCase) -> np.ndarray:
    """Lift for each mm of relief at the deepest fret, as a gauge shows it."""
    z, x, end = case.tops, xs(it), it.body_joint_fret - 1
    chord = z[0] + (x - x[0]) / (x[end] - x[0]) * (z[end] - z[0])
    return z / np.mean(np.max((chord - z)[: end + 1], axis=0))


def bowed(walnut: Instrument, make_shape: MakeShape, relief: float) -> Shape:
    """Straight tops, then bent by the rod's own shape."""
    straight = make_shape(walnut, relief_mm=0.0, flat_board=True)
    rod = relief_cases(walnut, straight.x_mm)[0]
    return replace(straight, top_mm=straight.top_mm + relief * unit(walnut, rod))


@pytest.mark.parametrize("relief", [-0.1, 0.08])
def test_the_rod_takes_out_its_own_bow(
    walnut: Instrument, make_shape: MakeShape, relief: float
) -> None:
    """An even cut of a bowed neck: straightened first, the beam does it all."""
    cuts = np.full((22, 6), 0.03)
    setting = beam_setting(bowed(walnut, make_shape, relief), cuts, walnut, known_rod(walnut))
    assert setting.relief_change_mm == pytest.approx(-relief, abs=3e-4)  # a hundredth of the plan
    assert setting.turns == pytest.approx(relief / 0.4, abs=1e-3)
    assert setting.share > 0.99


def test_a_straight_neck_is_not_bent(walnut: Instrument, make_shape: MakeShape) -> None:
    setting = beam_setting(
        bowed(walnut, make_shape, 0.0), np.full((22, 6), 0.03), walnut, known_rod(walnut)
    )
    assert setting.relief_change_mm == 0.0
    assert setting.share == pytest.approx(1.0)


def test_the_rod_is_not_turned_further_than_the_bench_allows(
    walnut: Instrument, make_shape: MakeShape
) -> None:
    shape = bowed(walnut, make_shape, 0.42)
    setting = beam_setting(shape, np.full((22, 6), 0.03), walnut, known_rod(walnut))
    assert setting.relief_change_mm == pytest.approx(-BENCH_RELIEF_MM)


def test_a_deeper_cut_than_the_beam_makes_is_left_to_the_file(
    walnut: Instrument, make_shape: MakeShape
) -> None:
    cuts = np.full((22, 6), 0.03)
    cuts[9, 2] = 0.08
    setting = beam_setting(bowed(walnut, make_shape, 0.0), cuts, walnut, known_rod(walnut))
    assert setting.left_um[9, 2] == pytest.approx(50.0, abs=0.01)
    left = setting.left_um.copy()
    left[9, 2] = 0.0
    assert np.max(left) < 1e-2


def brute_mm(shape: Shape, cuts: np.ndarray, it: Instrument, bends: np.ndarray) -> float:
    """The most any line a string takes, each bend and each pair of planned tops tried in turn."""
    rod = unit(it, relief_cases(it, shape.x_mm)[0])
    best = 0.0
    for relief in bends:
        wanted = shape.top_mm - cuts + relief * rod
        total = 0.0
        for s in range(cuts.shape[1]):
            x, most = shape.x_mm[:, s], 0.0
            for a, b in combinations(range(x.size), 2):
                t = (x - x[a]) / (x[b] - x[a])
                gap = wanted[a, s] + t * (wanted[b, s] - wanted[a, s]) - wanted[:, s]
                lever = rod[a, s] + t * (rod[b, s] - rod[a, s]) - rod[:, s]
                took = np.clip(cuts[:, s] - gap, 0.0, None)
                sure = U_SET_MM * np.abs(lever) <= MOST_DOUBT_MM
                if gap.min() > -1e-9 and np.all(sure | (took < 1e-9)):
                    most = max(most, float(took.sum()))
            total += most
        best = max(best, total)
    return best


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_no_other_setting_lets_the_beam_do_more(
    tiny: Instrument, make_shape: MakeShape, seed: int
) -> None:
    """Two strings, 13 frets, by brute force; less may be done by a hundredth of the plan, where
    that spares turning the rod."""
    rng = np.random.default_rng(seed)
    shape = make_shape(tiny, 1.1 + rng.normal(0.0, 0.01, (13, 2)), relief_mm=0.05)
    cuts = rng.uniform(0.0, 0.05, (13, 2))
    found = beam_setting(shape, cuts, tiny, known_rod(tiny))
    best = brute_mm(shape, cuts, tiny, np.linspace(-BENCH_RELIEF_MM, BENCH_RELIEF_MM, 161))
    assert 1e-3 * found.taken_um.sum() >= best - 0.01 * cuts.sum() - 1e-9


@settings(max_examples=25, deadline=None)
@given(
    st.integers(0, 10**6),
    st.sampled_from([None, 90.0, 150.0, 300.0]),
    st.booleans(),
)
def test_no_line_goes_under_the_plan_whatever_the_rod_does(
    walnut: Instrument, make_shape: MakeShape, seed: int, beam_mm: float | None, prop: bool
) -> None:
    rng = np.random.default_rng(seed)
    shape = make_shape(walnut, 1.1 + rng.normal(0.0, 0.02, (22, 6)))
    cuts = np.where(rng.uniform(size=(22, 6)) < 0.6, rng.uniform(0.0, 0.08, (22, 6)), 0.0)
    found = beam_setting(shape, cuts, walnut, default_rod(walnut, shape.x_mm), beam_mm, prop)
    assert np.all(found.left_um >= 0.0)
    np.testing.assert_allclose(found.taken_um + found.left_um, 1e3 * cuts, atol=1e-6)
    assert 0.0 <= found.share_least <= found.share <= 1.0
    if found.prop is None:
        for case in relief_cases(walnut, shape.x_mm):
            lift = found.relief_change_mm * unit(walnut, case)
            assert under_the_plan_mm(found, shape.x_mm, shape.top_mm + lift, cuts) < 1e-6
        assert unsure_mm(found, shape.x_mm, walnut) <= MOST_DOUBT_MM + 1e-9


def under_the_plan_mm(
    found: BeamSetting, x: np.ndarray, bent: np.ndarray, cuts: np.ndarray
) -> float:
    """How far any beam, held by the two frets it stops at, cuts under the plan."""
    worst, wanted = 0.0, bent - cuts
    for section in found.sections:
        for line in section.lines:
            s, (a, b) = line.string - 1, (f - 1 for f in line.stops)
            t = (x[:, s] - x[a, s]) / (x[b, s] - x[a, s])
            z = wanted[a, s] + t * (wanted[b, s] - wanted[a, s])
            under = (wanted[:, s] - z)[section.first - 1 : section.last]
            worst = max(worst, float(under.max()))
    return worst


def unsure_mm(found: BeamSetting, x: np.ndarray, it: Instrument) -> float:
    """How far the gauge's own doubt of the relief moves a line where it takes anything."""
    worst, rod = 0.0, unit(it, relief_cases(it, x)[0])
    for section in found.sections:
        for line in section.lines:
            s, (a, b) = line.string - 1, (f - 1 for f in line.stops)
            t = (x[:, s] - x[a, s]) / (x[b, s] - x[a, s])
            lever = np.abs(rod[a, s] + t * (rod[b, s] - rod[a, s]) - rod[:, s])
            under = lever[section.first - 1 : section.last]
            worst = max(worst, float(np.max(under[line.take_um > 1e-6], initial=0.0)))
    return U_SET_MM * worst


@pytest.mark.parametrize("seed", range(3))
def test_share_at_the_least_is_that_of_the_worst_setting(
    walnut: Instrument, make_shape: MakeShape, seed: int
) -> None:
    """Relief 0.02 mm off either way, each line stopped where the first top is down."""
    rng = np.random.default_rng(seed)
    shape = make_shape(walnut, 1.1 + rng.normal(0.0, 0.01, (22, 6)), relief_mm=0.02)
    cuts = rng.uniform(0.0, 0.05, (22, 6))
    found = beam_setting(shape, cuts, walnut, known_rod(walnut))
    (section,) = found.sections
    rod, x = unit(walnut, relief_cases(walnut, shape.x_mm)[0]), shape.x_mm
    shares = []
    for off in (-2 * U_SET_MM, 0.0, 2 * U_SET_MM):
        top = shape.top_mm + (found.relief_change_mm + off) * rod
        total = 0.0
        for line in section.lines:
            s, (a, b) = line.string - 1, (f - 1 for f in line.stops)
            z = top[:, s] - cuts[:, s]
            beam = z[a] + (x[:, s] - x[a, s]) * (z[b] - z[a]) / (x[b, s] - x[a, s])
            beam = beam + max(0.0, float(np.max(z - beam)))
            total += float(np.clip(top[:, s] - beam, 0.0, None).sum())
        shares.append(total / cuts.sum())
    assert found.share_least == pytest.approx(min(shares), abs=1e-9)
    assert found.share == pytest.approx(shares[1], abs=1e-9)


def test_a_rod_that_may_lift_the_end_of_the_board_does_not_let_the_beam_cut_it_short(
    walnut: Instrument, make_shape: MakeShape
) -> None:
    """Loosening may tilt up what lies past the joint: a line held in the neck would cut it."""
    shape = bowed(walnut, make_shape, -0.1)
    cuts = np.full((22, 6), 0.03)
    sure = beam_setting(shape, cuts, walnut, known_rod(walnut))
    unsure = beam_setting(shape, cuts, walnut, default_rod(walnut, shape.x_mm))
    assert unsure.share_least < sure.share_least
    stops = [line.stops for section in unsure.sections for line in section.lines]
    assert all(b > 16 for _, b in stops)
    follows = relief_cases(walnut, shape.x_mm)[1]
    lift = unsure.relief_change_mm * unit(walnut, follows)
    assert under_the_plan_mm(unsure, shape.x_mm, shape.top_mm + lift, cuts) < 1e-6


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("beam_mm", [None, 150.0])
def test_a_prop_never_does_less_and_only_what_is_worth_it(
    walnut: Instrument, make_shape: MakeShape, seed: int, beam_mm: float | None
) -> None:
    rng = np.random.default_rng(seed)
    shape = make_shape(walnut, 1.1 + rng.normal(0.0, 0.02, (22, 6)))
    cuts = rng.uniform(0.0, 0.05, (22, 6))
    rod = default_rod(walnut, shape.x_mm)
    alone = beam_setting(shape, cuts, walnut, rod, beam_mm)
    both = beam_setting(shape, cuts, walnut, rod, beam_mm, prop=True)
    if both.prop is None:
        assert both.share == alone.share
    else:
        assert both.share >= alone.share + 0.1
        assert both.share_without == alone.share


def test_a_prop_takes_out_a_bend_that_no_rod_does(
    walnut: Instrument, make_shape: MakeShape
) -> None:
    """A neck bent as by a load at fret 1, an even cut: s^2 (3 a - s), Roark's cantilever."""
    straight = make_shape(walnut, relief_mm=0.0, flat_board=True)
    joint = straight.x_mm[15]
    s, a = np.clip(joint - straight.x_mm, 0.0, None), joint - straight.x_mm[0]
    bent = replace(straight, top_mm=straight.top_mm - 0.5 * s**2 * (3 * a - s) / (2 * a**3))
    cuts = np.full((22, 6), 0.03)
    rod = known_rod(walnut)
    alone = beam_setting(bent, cuts, walnut, rod)
    both = beam_setting(bent, cuts, walnut, rod, prop=True)
    assert both.prop is not None
    assert both.prop.lift_mm > 0.1
    assert abs(both.prop.nut_mm) <= 1.0
    assert both.share >= alone.share + 0.1


def test_nothing_planned_nothing_done(walnut: Instrument, make_shape: MakeShape) -> None:
    shape = make_shape(walnut)
    found = beam_setting(shape, np.zeros((22, 6)), walnut, known_rod(walnut), 150.0, True)
    assert found.sections == ()
    assert found.share == found.share_least == found.relief_change_mm == 0.0


def test_unseen_tops_are_left_open(walnut: Instrument, make_shape: MakeShape) -> None:
    shape = bowed(walnut, make_shape, 0.05)
    top = shape.top_mm.copy()
    top[4, 1] = np.nan
    cuts = np.full((22, 6), 0.03)
    setting = beam_setting(replace(shape, top_mm=top), cuts, walnut, known_rod(walnut))
    assert np.isnan(setting.left_um[4, 1])
    assert setting.share > 0.98


def test_a_weak_rod_is_not_turned_more_than_once_round(tiny: Instrument) -> None:
    x, usual = xs(tiny), default_rod(tiny, xs(tiny))
    weak = replace(usual, mm_per_turn=0.15)
    assert rod_bending(weak, x, tiny.body_joint_fret).most_mm.tolist() == [0.15]
    assert rod_bending(usual, x, tiny.body_joint_fret).most_mm.tolist() == [0.4]
