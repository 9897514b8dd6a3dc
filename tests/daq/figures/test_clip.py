"""What is cut off at a field's edge is cut off there, and runs as it ran."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.figures.axes import framed
from daq.figures.clip import area_within, line_within

FIELD = framed((0.0, 10.0), (0.0, 10.0), 100.0, left=0.0, right=100.0, top=0.0)
POINTS = st.lists(st.tuples(st.floats(-300, 300), st.floats(-300, 300)), min_size=2, max_size=9)


def test_a_line_through_two_edges() -> None:
    (piece,) = line_within([(-50.0, 50.0), (50.0, -50.0 + 150.0), (50.0, 150.0)], FIELD)
    assert piece == [(0.0, 75.0), (50.0, 100.0)]


def test_a_line_that_leaves_and_comes_back_is_in_two_pieces() -> None:
    pieces = line_within([(10.0, 50.0), (10.0, 150.0), (90.0, 150.0), (90.0, 50.0)], FIELD)
    assert pieces == [[(10.0, 50.0), (10.0, 100.0)], [(90.0, 100.0), (90.0, 50.0)]]


def test_an_area_keeps_what_is_inside() -> None:
    corners = area_within([(50.0, 50.0), (150.0, 50.0), (150.0, 150.0), (50.0, 150.0)], FIELD)
    assert set(corners) == {(50.0, 50.0), (100.0, 50.0), (100.0, 100.0), (50.0, 100.0)}
    assert area_within([(150.0, 0.0), (160.0, 0.0), (160.0, 9.0)], FIELD) == []


@given(POINTS)
def test_nothing_lies_outside(points: list[tuple[float, float]]) -> None:
    kept = [p for piece in line_within(points, FIELD) for p in piece]
    kept += area_within(points, FIELD)
    assert all(-1e-6 <= x <= 100.0 + 1e-6 and -1e-6 <= y <= 100.0 + 1e-6 for x, y in kept)


@given(st.lists(st.tuples(st.floats(1, 99), st.floats(1, 99)), min_size=3, max_size=9, unique=True))
def test_what_is_inside_stays_as_it_is(points: list[tuple[float, float]]) -> None:
    assert area_within(points, FIELD) == points
    assert [p for piece in line_within(points, FIELD) for p in piece] == points


def test_a_cut_line_lies_on_the_line() -> None:
    rng = np.random.default_rng(1)
    for a, b in rng.uniform(-100.0, 200.0, (200, 2, 2)):
        for piece in line_within([tuple(a), tuple(b)], FIELD):
            for x, y in piece:
                off = (b[0] - a[0]) * (y - a[1]) - (b[1] - a[1]) * (x - a[0])
                assert off == pytest.approx(0.0, abs=1e-6)
