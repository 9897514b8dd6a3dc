"""Bends: where they choke, the radius and the cut that stop it, how far they go."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.bends import WIDTHS, Bend, bend_over
from analysis.plan.changes import Changes, nothing_changed
from analysis.plan.chokes import Chokes, after_plan, chokes, radius_mm
from analysis.plan.planner import Planner, planner_for
from analysis.plan.target import Target
from analysis.rod.rod import default_rod
from analysis.strings.playing import PlayingProfile, built_in_profile

MakeShape = Callable[..., Shape]
NONE = Target()
GENTLE = replace(
    built_in_profile("gentle", 6),
    pluck_force_n=0.2,
    bend_semitones=2.0,
    guard=0.0,
    highest_action_mm={1: 3.0, 6: 3.0},
)


def arc_mm(y: float, radius: float) -> float:
    """Height of a circle at y, without loss of digits."""
    return -(y**2) / (radius + np.sqrt(radius**2 - y**2))


def clearance_mm(bend: Bend, tops_mm: tuple[float, float], saddle_mm: float, f: float) -> float:
    """Over arcs with curvature f times the bend's, tops under the straight string as given."""
    heights = []
    for top, own, y, k in zip(
        tops_mm, bend.string_y_mm, (bend.start_y_mm, bend.y_mm), bend.curvature, strict=True
    ):
        radius = 1.0 / (f * k)
        heights.append(top + arc_mm(y, radius) - arc_mm(own, radius))
    return (1.0 - bend.share) * heights[0] + bend.share * saddle_mm - heights[1]


@given(
    share=st.floats(0.05, 0.6),
    push=st.floats(2.0, 12.0),
    own=st.floats(5.0, 24.0),
    radius=st.floats(180.0, 500.0),
    part=st.floats(0.02, 0.9),
)
def test_the_radius_stops_it_by_the_arcs_own_geometry(
    share: float, push: float, own: float, radius: float, part: float
) -> None:
    """Against bisection on circles, short by a part of what a flat board would give."""
    start = own - push
    y = start + share * (own - start)
    bend = Bend(share, start, y, (own, own), (1.0 / radius, 1.0 / radius))

    def gained(f: float) -> float:
        return clearance_mm(bend, (0.0, 0.0), 1.0, f) - clearance_mm(bend, (0.0, 0.0), 1.0, 1.0)

    short = part * gained(1e-4)
    found = radius_mm(bend, short)
    assert found is not None
    there = radius / brentq(lambda f: gained(f) - short, 1e-4, 1.0)
    # a circle bends as k + 1.5 k^3 y^2: what it gains differs by 1.5 k^2 y^2 (1 + f + f^2)
    apart = 4.5 * (own / radius) ** 2 + 1e-3
    assert gained(radius / found) == pytest.approx(short, rel=apart)
    assert found == pytest.approx(there, rel=apart / (1.0 - part))
    assert found > radius


@pytest.mark.parametrize("bend", [
    Bend(0.3, 10.0, 13.0, (20.0, 20.0), (1e-4, 1e-4)),  # a flat board gives less than is missing
    Bend(0.3, 26.0, 24.2, (20.0, 20.0), (0.002, 0.004)),  # a cone the wrong way, bent outwards
])  # fmt: skip
def test_no_radius_where_flatter_does_not_help(bend: Bend) -> None:
    assert radius_mm(bend, 0.2) is None


def made(
    instrument: Instrument, shape: Shape, playing: PlayingProfile
) -> tuple[Planner, Callable[[Changes], Chokes]]:
    planner = planner_for(shape, instrument, playing, default_rod(instrument, shape.x_mm))
    limits = planner.limits(playing, NONE)

    def find(done: Changes) -> Chokes:
        found = chokes(planner, playing, limits, done)
        assert found is not None
        return found

    return planner, find


def round_neck(
    instrument: Instrument, make_shape: MakeShape, radius: float
) -> tuple[Instrument, Shape]:
    low = replace(instrument, board_radius_mm=(radius, radius), action_mm=(1.15,) * 6)
    return low, make_shape(low, np.full((22, 6), 1.1), relief_mm=0.05)


def test_a_round_board_chokes_and_the_radius_that_is_said_does_not(
    walnut: Instrument, make_shape: MakeShape
) -> None:
    """Even crowns: the neck built again with that radius, strings as high as before."""
    playing = replace(GENTLE, bend_semitones=3.0)
    instrument, shape = round_neck(walnut, make_shape, 120.0)
    planner, find = made(instrument, shape, playing)
    now = find(nothing_changed(planner.setup)).now
    assert now
    worst = max((c for c in now if c.radius_mm is not None), key=lambda c: c.short_mm)
    assert worst.now_radius_mm == pytest.approx(120.0, rel=1e-6)
    assert worst.radius_mm is not None
    for radius, missing in ((worst.radius_mm, 0.0), (120.0, worst.short_mm)):
        flatter, again = round_neck(walnut, make_shape, radius)
        rows = made(flatter, again, playing)[0].margins
        setup = made(flatter, again, playing)[0].setup
        clearance = rows.clearance_mm(setup.node_z_mm, setup.nut_mm, setup.saddle_mm)
        place = (rows.string == worst.string) & (rows.fretted == worst.fretted) & rows.bend
        at = place & (rows.at == worst.at)
        short = -np.min((clearance - rows.swing_mm)[at])
        assert short == pytest.approx(missing, abs=0.004)


def test_the_cut_stops_it_and_a_little_less_does_not(
    walnut: Instrument, make_shape: MakeShape
) -> None:
    """A crown that stands up between the strings by a tenth."""
    shape = make_shape(walnut, np.full((22, 6), 1.1), relief_mm=0.1)
    shape.between_mm[13] += 0.1
    planner, find = made(walnut, shape, GENTLE)
    still = nothing_changed(planner.setup)
    before = find(still)
    assert {c.at for c in before.now} == {14}
    assert before.cut_mm is not None
    assert np.flatnonzero(before.cut_mm.max(axis=1) > 1e-6).tolist() == [13]
    done = replace(still, remove_mm=before.cut_mm + 1e-9)
    assert find(done).after == ()
    less = replace(still, remove_mm=0.97 * before.cut_mm)
    assert find(less).after != ()
    assert {(c.string, c.fretted) for c in find(less).after} <= {
        (c.string, c.fretted) for c in before.now
    }


def test_only_bends_are_blamed(walnut: Instrument, make_shape: MakeShape) -> None:
    """Where the straight string buzzes too it is no choke; a player who does not bend has none."""
    high = np.full((22, 6), 1.1)
    high[9] += 0.4
    shape = make_shape(walnut, high, relief_mm=0.1)
    planner, find = made(walnut, shape, GENTLE)
    assert not [c for c in find(nothing_changed(planner.setup)).now if c.fretted == 9]
    straight = replace(GENTLE, bend_semitones=0.0)
    planner = planner_for(shape, walnut, straight, default_rod(walnut, shape.x_mm))
    still = nothing_changed(planner.setup)
    assert chokes(planner, straight, planner.limits(straight, NONE), still) is None


def test_as_wide_as_is_said_is_clear_by_margins_of_that_width(
    walnut: Instrument, make_shape: MakeShape
) -> None:
    instrument, shape = round_neck(walnut, make_shape, 100.0)
    planner, find = made(instrument, shape, replace(GENTLE, bend_semitones=0.5))
    widest = find(nothing_changed(planner.setup)).widest_now
    assert set(np.unique(widest)) <= {0.0, *WIDTHS.tolist()}
    assert len(np.unique(widest[:-1])) > 2
    for width in WIDTHS.tolist()[1::2]:
        wider, _ = made(instrument, shape, replace(GENTLE, bend_semitones=width))
        rows, setup = wider.margins, wider.setup
        clearance = rows.clearance_mm(setup.node_z_mm, setup.nut_mm, setup.saddle_mm)
        over = clearance - rows.swing_mm
        worst = np.full(widest.shape, np.inf)
        np.minimum.at(
            worst, (rows.fretted[rows.bend] - 1, rows.string[rows.bend] - 1), over[rows.bend]
        )
        said = widest[:-1] >= width
        # margins ask on the way too, and know the swing of the bent string itself
        assert np.mean(said == (worst[:-1] >= 0.0)) > 0.97
        assert worst[:-1][said].min() > -0.004


def test_wider_action_never_chokes_sooner(walnut: Instrument, make_shape: MakeShape) -> None:
    instrument, shape = round_neck(walnut, make_shape, 150.0)
    planner, find = made(instrument, shape, GENTLE)
    still = nothing_changed(planner.setup)
    up = replace(still, saddle_mm=still.saddle_mm + 0.6)
    found = find(up)
    assert np.all(found.widest_after >= found.widest_now)
    assert len(found.after) < len(found.now)


def test_a_plan_carried_out_is_what_its_rows_say(walnut: Instrument, make_shape: MakeShape) -> None:
    high = 1.1 + np.random.default_rng(2).normal(0.0, 0.01, (22, 6))
    shape = make_shape(walnut, high, relief_mm=0.1)
    playing = replace(GENTLE, pluck_force_n=0.4, highest_action_mm={1: 1.7, 6: 2.2}, guard=2.0)
    planner, _ = made(walnut, shape, playing)
    solution = planner.solve(playing, planner.limits(playing, NONE))
    assert solution.feasible
    limits = planner.limits(playing, NONE)
    clearance = after_plan(planner, limits, solution.changes).clearance_mm(planner.margins)
    # the solution's is the least over every way the rod may act
    assert np.all(clearance >= solution.clearance_mm - 1e-9)


def test_bend_over_crosses_towards_the_middle(walnut: Instrument, make_shape: MakeShape) -> None:
    shape = make_shape(walnut, relief_mm=0.1)
    planner, _ = made(walnut, shape, GENTLE)
    bend = bend_over(planner.setup, planner.loads[0], 2.0, 1, 12, 15)
    assert abs(bend.start_y_mm) < abs(bend.string_y_mm[0])
    x, end = planner.setup.x_mm[:, 0], planner.setup.saddle_x_mm[0]
    assert bend.share == pytest.approx((x[14] - x[11]) / (end - x[11]))
    saddle_y = float(walnut.string_y_mm(1.0, end))
    way = bend.start_y_mm + bend.share * (saddle_y - bend.start_y_mm)
    assert bend.y_mm == pytest.approx(way)
