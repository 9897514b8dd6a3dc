"""The metal that uncertainty costs: against plans for a neck that is known better."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.neck.terms import Terms
from analysis.plan.planner import Planner, planner_for
from analysis.plan.price import UncertaintyPrice, scanned_again, uncertainty_price
from analysis.plan.target import Target
from analysis.rod.rod import default_rod
from analysis.strings.playing import built_in_profile

from ...planned import make_plan

MakeShape = Callable[..., Shape]
NONE = Target()
PLAYER = replace(
    built_in_profile("everyday", 6), name="own", pluck_force_n=0.45, bend_semitones=1.0
)
NEAR = {"abs": 3e-3}


def known(shape: Shape, **parts: float) -> Shape:
    """The same tops with an uncertainty made of these terms, mm."""
    terms = Terms({name: np.full(shape.top_mm.shape, u) for name, u in parts.items()})
    u = terms.u_mm
    return replace(shape, terms=terms, u_top_mm=u, u_between_mm=u[:, 1:])


@pytest.fixture(scope="module")
def poorly(walnut: Instrument, make_shape: MakeShape) -> Shape:
    """Tops known to 0.01 mm, most of it noise."""
    high = 1.1 + np.random.default_rng(3).normal(0.0, 0.012, (22, 1)) * np.ones(6)
    return known(make_shape(walnut, high), noise=0.008, rail=0.006)


@pytest.fixture(scope="module")
def planner(poorly: Shape, walnut: Instrument) -> Planner:
    return planner_for(poorly, walnut, PLAYER, default_rod(walnut, poorly.x_mm))


@pytest.fixture(scope="module")
def price(planner: Planner) -> UncertaintyPrice:
    return uncertainty_price(planner, PLAYER, NONE, {"strung": 1, "unstrung": 1})


def saved(price: UncertaintyPrice, what: str) -> float:
    return next(one.saves_mm for one in price.savings if one.what == what)


def test_scanning_again_is_a_plan_with_less_noise(
    price: UncertaintyPrice, poorly: Shape, walnut: Instrument
) -> None:

    better = known(poorly, noise=0.008 / np.sqrt(2.0), rail=0.006)
    anew = make_plan(better, walnut, PLAYER, NONE)
    assert saved(price, "unstrung again") == pytest.approx(price.metal_mm - anew.planned_mm, **NEAR)
    assert saved(price, "unstrung again") > 0.01


def test_everything_known_is_a_plan_without_guard(
    price: UncertaintyPrice, planner: Planner, poorly: Shape, walnut: Instrument
) -> None:
    rod = replace(planner.rod, cases=planner.rod.cases[:1], left=planner.rod.left[:1], learnt=True)
    anew = make_plan(poorly, walnut, replace(PLAYER, guard=0.0), NONE, rod)
    assert saved(price, "everything") == pytest.approx(price.metal_mm - anew.planned_mm, **NEAR)


def test_a_learnt_rod_is_a_plan_for_its_stated_case(
    price: UncertaintyPrice, planner: Planner, poorly: Shape, walnut: Instrument
) -> None:
    rod = replace(planner.rod, cases=planner.rod.cases[:1], left=planner.rod.left[:1], learnt=True)
    anew = make_plan(poorly, walnut, PLAYER, NONE, rod)
    assert saved(price, "rod") == pytest.approx(price.metal_mm - anew.planned_mm, **NEAR)
    learnt = planner_for(poorly, walnut, PLAYER, rod)
    assert uncertainty_price(learnt, PLAYER, NONE, {}).of("rod") is None
    assert uncertainty_price(planner, PLAYER, Target(frozenset({"rod"})), {}).of("rod") is None


def test_tension_known_is_a_plan_without_its_part_of_u(
    price: UncertaintyPrice, planner: Planner
) -> None:
    margins = planner.played(PLAYER)
    tops_alone = np.sqrt(
        (margins.nodes**2) @ (planner.setup.u_node_mm.ravel() ** 2)
        + (margins.nut**2) @ (planner.setup.u_nut_mm**2)
        + (margins.saddle**2) @ (planner.setup.u_saddle_mm**2)
        + margins.u_unseen_mm**2
    )
    done = planner.programme.solve(replace(margins, u_mm=tops_alone), planner.limits(PLAYER, NONE))
    assert saved(price, "tension") == pytest.approx(price.metal_mm - done.metal_mm, **NEAR)


def test_crowns_between_lanes_cost_what_their_part_of_u_does(
    price: UncertaintyPrice, planner: Planner
) -> None:
    margins = planner.played(PLAYER)
    seen = np.sqrt(margins.u_mm**2 - margins.u_unseen_mm**2)
    done = planner.programme.solve(replace(margins, u_mm=seen), planner.limits(PLAYER, NONE))
    assert saved(price, "between") == pytest.approx(price.metal_mm - done.metal_mm, **NEAR)
    straight = replace(PLAYER, bend_semitones=0.0)
    alone = planner_for(planner.shape, planner.setup.instrument, straight, planner.rod)
    found = uncertainty_price(alone, straight, NONE, {})
    assert saved(found, "between") == pytest.approx(0.0, abs=1e-6)


def test_no_single_thing_saves_more_than_all(price: UncertaintyPrice) -> None:
    each = [one.saves_mm for one in price.savings]
    assert all(one.feasible for one in price.savings)
    assert saved(price, "heights") > 0.01
    # screws have a price beside metal's, so a part may beat the whole by next to nothing
    assert max(each) <= saved(price, "everything") + 3e-3
    assert min(each) > -3e-3


def test_what_every_scan_shares_is_not_bought_by_scanning(
    planner: Planner, poorly: Shape, walnut: Instrument
) -> None:
    shared = known(poorly, rail=0.008, crown=0.006)
    found = planner_for(shared, walnut, PLAYER, planner.rod)
    again = uncertainty_price(found, PLAYER, NONE, {})
    assert saved(again, "unstrung again") == pytest.approx(0.0, abs=1e-9)
    assert saved(again, "both again") == pytest.approx(0.0, abs=1e-9)
    setup = scanned_again(found.setup, shared, (1, 1), (1, 1))
    np.testing.assert_allclose(setup.u_node_mm, found.setup.u_node_mm)


@settings(deadline=None, max_examples=25)
@given(
    st.tuples(st.integers(1, 6), st.integers(1, 6)),
    st.tuples(st.integers(0, 3), st.integers(0, 3)),
    st.floats(1e-4, 0.02),
    st.floats(0.0, 0.02),
    st.floats(0.0, 0.02),
)
def test_variances_fall_with_the_number_of_scans(
    planner: Planner,
    poorly: Shape,
    scans: tuple[int, int],
    more: tuple[int, int],
    noise: float,
    movement: float,
    rail: float,
) -> None:
    """A mean of n scans has 1/n of one scan's variance; a difference of two means has both."""
    one = known(poorly, noise=noise, movement=movement, rail=rail)
    setup = replace(
        planner.setup, u_node_mm=np.full_like(planner.setup.u_node_mm, one.u_top_mm[0, 0])
    )
    again = scanned_again(setup, one, scans, more)
    strung, unstrung = scans
    now = 1.0 / strung + 1.0 / unstrung
    then = 1.0 / (strung + more[0]) + 1.0 / (unstrung + more[1])
    wanted = np.sqrt(
        noise**2 * unstrung / (unstrung + more[1]) + movement**2 * then / now + rail**2
    )
    np.testing.assert_allclose(again.u_node_mm, wanted, rtol=1e-6)


def test_without_a_plan_it_says_whether_measuring_would_find_one(planner: Planner) -> None:
    hopeless = uncertainty_price(planner, replace(PLAYER, pluck_force_n=2.0), NONE, {})
    assert not hopeless.feasible
    assert not any(one.feasible for one in hopeless.savings)
    assert all(np.isnan(one.saves_mm) for one in hopeless.savings)
    # at the edge: no plan with the guard, one without
    edge = next(
        found
        for force in np.arange(0.46, 0.8, 0.02)
        if not (
            found := uncertainty_price(planner, replace(PLAYER, pluck_force_n=force), NONE, {})
        ).feasible
    )
    everything = edge.of("everything")
    assert everything is not None
    assert everything.feasible
    assert np.isnan(everything.saves_mm)
