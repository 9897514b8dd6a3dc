"""Each string where it has least room, against the plain geometry of a straight string."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.changes import Changes, nothing_changed
from analysis.plan.planner import Planner, planner_for
from analysis.plan.target import Target
from analysis.plan.tight import margins_done, tight_strings
from analysis.rod.rod import default_rod
from analysis.strings.playing import PlayingProfile, built_in_profile

MakeShape = Callable[..., Shape]
NONE = Target()


@pytest.fixture(scope="module")
def playing() -> PlayingProfile:
    return replace(built_in_profile("everyday", 6), bend_semitones=0.0)


@pytest.fixture(scope="module")
def planner(walnut: Instrument, make_shape: MakeShape, playing: PlayingProfile) -> Planner:
    """Fret 9 is high under string 3."""
    high = np.full((22, 6), 1.1)
    high[8, 2] += 0.3
    shape = make_shape(walnut, high)
    return planner_for(shape, walnut, playing, default_rod(walnut, shape.x_mm))


@pytest.fixture(scope="module")
def done(planner: Planner) -> Changes:
    """Every kind of change at once."""
    cut = np.random.default_rng(4).uniform(0.0, 0.06, (22, 6))
    still = nothing_changed(planner.setup)
    saddle = np.linspace(0.05, 0.3, 6)
    return replace(still, remove_mm=cut, saddle_mm=saddle, nut_mm=0.1 * saddle, relief_mm=0.03)


def test_the_place_with_least_room_is_found(
    planner: Planner, playing: PlayingProfile, done: Changes
) -> None:
    found = tight_strings(planner, planner.limits(playing, NONE), done)
    rows = planner.margins
    room = planner.rows.now_mm - rows.swing_mm - playing.guard * rows.u_mm
    for one in found.each:
        mine = rows.string == one.string
        assert one.short_now_mm == pytest.approx(-room[mine].min())
        assert one.at.tolist() == list(range(one.fretted + 1, 23))
    third = found.each[2]
    assert third.at[third.worst(third.now_mm)] == 9


def test_clearances_are_those_of_a_line_from_finger_to_saddle(
    planner: Planner, playing: PlayingProfile, done: Changes
) -> None:
    limits = planner.limits(playing, NONE)
    setup, rod = planner.setup, planner.rod.cases[0]
    for one in tight_strings(planner, limits, done).each:
        s = one.string - 1
        tops = setup.top_mm[:, s] - done.remove_mm[:, s] + done.relief_mm * rod.tops[:, s]
        saddle = setup.saddle_mm[s] + done.saddle_mm[s] + done.relief_mm * rod.saddle[s]
        held = setup.nut_mm[s] + done.nut_mm[s] if one.fretted == 0 else tops[one.fretted - 1]
        share = (one.x_mm - one.start_x_mm) / (setup.saddle_x_mm[s] - one.start_x_mm)
        line = held + share * (saddle - held)
        np.testing.assert_allclose(one.after_mm, line - tops[one.at - 1], atol=1e-9)
        np.testing.assert_allclose(one.cut_mm, done.remove_mm[one.at - 1, s], atol=1e-12)
        np.testing.assert_allclose(one.wanted_mm, one.swing_mm + playing.guard * one.u_mm)


def test_frets_are_drawn_where_they_end(
    planner: Planner, playing: PlayingProfile, done: Changes
) -> None:
    found = tight_strings(planner, planner.limits(playing, NONE), done)
    lift = done.relief_mm * planner.rod.cases[0].tops
    expected = found.before.top_mm - done.remove_mm + lift
    np.testing.assert_allclose(found.after.top_mm, expected)


def test_a_bent_string_is_taken_only_where_it_alone_lacks_room(
    walnut: Instrument, make_shape: MakeShape
) -> None:
    """A board of small radius under strings with room chokes bends; straight they stay clear."""
    bending = replace(built_in_profile("gentle", 6), bend_semitones=3.0, pluck_force_n=0.2)
    round_board = replace(walnut, board_radius_mm=(120.0, 120.0), action_mm=(1.2,) * 6)
    shape = replace(make_shape(round_board), board_radius_mm=(120.0, 120.0))
    planner = planner_for(shape, round_board, bending, default_rod(round_board, shape.x_mm))
    limits = planner.limits(bending, NONE)
    found = tight_strings(planner, limits, nothing_changed(planner.setup))
    rows = planner.margins
    room = planner.rows.now_mm - rows.swing_mm - bending.guard * rows.u_mm
    kinds = set()
    for one in found.each:
        mine = rows.string == one.string
        straight, bent = (room[mine & (rows.bend == bend)].min() for bend in (False, True))
        assert one.bend == (bent < 0.0 <= straight)
        assert one.short_now_mm == pytest.approx(-(bent if one.bend else straight))
        assert np.unique(one.at).size == one.at.size
        kinds.add(one.bend)
    assert True in kinds


def test_margins_of_nothing_done_are_those_of_now(
    planner: Planner, playing: PlayingProfile
) -> None:
    still = nothing_changed(planner.setup)
    done = margins_done(planner, planner.limits(playing, NONE), still)
    rows = planner.margins
    assert len(done) == rows.first.size
    least = np.minimum.reduceat(planner.rows.now_mm - rows.swing_mm, rows.first)
    over = [one.clearance_mm - one.swing_mm for one in done]
    np.testing.assert_allclose(over, least, atol=1e-12)
