"""What a board's radius says of the tip."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.board.climb import (
    BALL,
    BETWEEN,
    MADE_SHARE,
    NONE,
    SANDED_SHARE,
    climb_of,
)

MADE = np.array([241.0, 355.0])
SURE = np.diag([0.1, 0.1]) ** 2
#: Of a contact tip nothing is known but that most are balls.
BEFORE = climb_of(MADE, np.full((2, 2), np.nan), MADE, 1.0)


def test_a_board_as_made_tells_a_ball_from_an_edge() -> None:
    ball = climb_of(MADE + 1.0, SURE, MADE, 1.0)
    edge = climb_of(MADE, SURE, MADE, 1.0)
    assert ball.share > 0.9
    assert edge.share < 0.15
    assert max(ball.u_share, edge.u_share) < 0.3


@pytest.mark.parametrize("off_mm", [(9.0, -14.0), (-6.0, 8.0), (5.0, 5.0)])
def test_a_board_that_is_not_as_made_says_nothing(off_mm: tuple[float, float]) -> None:
    found = climb_of(MADE + np.array(off_mm), SURE, MADE, 1.0)
    assert found.share == pytest.approx(BEFORE.share, abs=0.09)
    assert found.u_share > 0.35


def test_a_radius_that_was_not_read_says_nothing() -> None:
    assert BEFORE.share == pytest.approx(BALL + 0.5 * BETWEEN)
    # two points and a stretch between them
    square = BALL + BETWEEN / 3.0 - BEFORE.share**2
    assert BEFORE.u_share == pytest.approx(np.sqrt(square), abs=0.002)
    rough = climb_of(MADE + 1.0, 400.0 * np.eye(2), MADE, 1.0)
    assert rough.share == pytest.approx(BEFORE.share, abs=0.05)


@given(st.floats(-30.0, 30.0), st.floats(-30.0, 30.0), st.floats(0.0, 3.0))
def test_a_share_is_a_share(nut_mm: float, last_mm: float, ball_mm: float) -> None:
    found = climb_of(MADE + np.array([nut_mm, last_mm]), SURE, MADE, ball_mm)
    assert 0.0 <= found.share <= 1.0
    assert 0.0 <= found.u_share <= 0.5 + 1e-9


def test_over_many_boards_the_share_and_its_u_are_honest() -> None:
    """Boards and tips as they are taken to be: the errors' mean square is what is stated."""
    random = np.random.default_rng(3)
    error, u = [], []
    for _ in range(4000):
        share = random.choice([1.0, 0.0, random.random()], p=[BALL, NONE, BETWEEN])
        spread = random.choice([MADE_SHARE, SANDED_SHARE], p=[1.0 / 3.0, 2.0 / 3.0])
        made = MADE + random.uniform(-0.5, 0.5, 2)
        true = made * (1.0 + random.normal(0.0, spread, 2))
        found = climb_of(true + share + random.normal(0.0, 0.1, 2), SURE, np.round(made), 1.0)
        error.append(found.share - share)
        u.append(found.u_share)
    ratio = np.mean(np.square(error)) / np.mean(np.square(u))
    assert np.sqrt(ratio) == pytest.approx(1.0, abs=0.08)
    assert abs(np.mean(error)) < 0.02
