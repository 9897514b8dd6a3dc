"""What a board's radius says of the tip."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.board.climb import climb_of

MADE = np.array([241.0, 355.0])
SURE = np.diag([0.1, 0.1]) ** 2


def test_a_board_as_made_tells_a_ball_from_an_edge() -> None:
    ball = climb_of(MADE + 1.0, SURE, MADE, 1.0)
    edge = climb_of(MADE, SURE, MADE, 1.0)
    assert ball.share > 0.9
    assert edge.share < 0.1
    assert max(ball.u_share, edge.u_share) < 0.25


@pytest.mark.parametrize("off_mm", [(9.0, -14.0), (-6.0, 8.0), (5.0, 5.0)])
def test_a_board_that_is_not_as_made_says_nothing(off_mm: tuple[float, float]) -> None:
    found = climb_of(MADE + np.array(off_mm), SURE, MADE, 1.0)
    assert found.share == pytest.approx(0.5, abs=0.06)
    assert found.u_share > 0.4


def test_a_radius_that_was_not_read_says_nothing() -> None:
    nothing = climb_of(MADE, np.full((2, 2), np.nan), MADE, 1.0)
    assert nothing.share == pytest.approx(0.5)
    rough = climb_of(MADE + 1.0, 400.0 * np.eye(2), MADE, 1.0)
    assert rough.share == pytest.approx(0.5, abs=0.05)


@given(st.floats(-30.0, 30.0), st.floats(-30.0, 30.0), st.floats(0.0, 3.0))
def test_a_share_is_a_share(nut_mm: float, last_mm: float, ball_mm: float) -> None:
    found = climb_of(MADE + np.array([nut_mm, last_mm]), SURE, MADE, ball_mm)
    assert 0.0 <= found.share <= 1.0
    assert 0.0 <= found.u_share <= 0.5 + 1e-9


def test_over_many_boards_the_share_and_its_u_are_honest() -> None:
    """Half the boards machined, half the tips balls: the errors' mean square is what is stated."""
    random = np.random.default_rng(3)
    error, u = [], []
    for _ in range(2000):
        share = random.choice([0.0, 1.0])
        spread = 0.001 if random.random() < 0.5 else 0.03
        made = MADE + random.uniform(-0.5, 0.5, 2)
        true = made * (1.0 + random.normal(0.0, spread, 2))
        found = climb_of(true + share + random.normal(0.0, 0.1, 2), SURE, np.round(made), 1.0)
        error.append(found.share - share)
        u.append(found.u_share)
    assert np.sqrt(np.mean(np.square(error)) / np.mean(np.square(u))) == pytest.approx(
        1.0, abs=0.12
    )
    assert abs(np.mean(error)) < 0.03
