"""How a neck lies in one scan against another."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.repeats.lie import BASIS, basis_rows, fit_lie

X = np.repeat(np.linspace(30.0, 460.0, 22), 11)
Y = np.tile(np.linspace(-22.0, 22.0, 11), 22)
ROWS = np.concatenate([basis_rows(X, Y, 400.0), basis_rows(X - 8.0, Y, 400.0)])
IS_BOARD = np.repeat([False, True], X.size)
TRUE = np.array([0.2, -0.15, 0.4, 0.03, 0.02, -0.01, 0.05])
U = np.full(IS_BOARD.size, 1e-3)


def change(seed: int) -> np.ndarray:
    return ROWS @ TRUE + np.random.default_rng(seed).normal(0.0, 1e-3, IS_BOARD.size)


def test_a_lie_is_recovered_and_its_covariance_holds() -> None:
    pulls = []
    for seed in range(100):
        lie = fit_lie(ROWS, change(seed), U, IS_BOARD)
        at = ROWS[::37]
        u = np.sqrt(np.einsum("pi,ij,pj->p", at, lie.covariance, at))
        pulls.append(at @ (lie.coefficients - TRUE) / u)
    assert np.std(pulls) == pytest.approx(1.0, abs=0.12)
    assert np.median(np.abs(pulls)) < 0.8


@pytest.mark.parametrize("share", [0.2, 0.6, 1.0])
def test_filed_tops_do_not_drag_it(share: float) -> None:
    """The board is where no file went; all that is filed is filed down."""
    rng = np.random.default_rng(5)
    dz = change(1)
    filed = ~IS_BOARD & (rng.uniform(size=U.size) < share)
    dz[filed] -= 0.03
    lie = fit_lie(ROWS, dz, U, IS_BOARD)
    assert np.max(np.abs(ROWS @ (lie.coefficients - TRUE))) < 1e-3


def test_dirt_and_a_lane_that_was_not_seen() -> None:
    dz = change(2)
    dz[::9] += 0.2
    dz[5::11] = np.nan
    lie = fit_lie(ROWS, dz, U, IS_BOARD)
    assert np.max(np.abs(ROWS @ (lie.coefficients - TRUE))) < 1e-3


def test_heights_that_agree_to_the_last_count() -> None:
    """Quantised readings of a neck that did not move: no spread at all."""
    lie = fit_lie(ROWS, np.zeros(U.size), U, IS_BOARD)
    assert lie.coefficients == pytest.approx(np.zeros(BASIS), abs=1e-12)
    assert np.isfinite(lie.covariance).all()


def test_without_a_board_the_tops_do() -> None:
    dz = change(3)
    dz[IS_BOARD] = np.nan
    lie = fit_lie(ROWS, dz, U, IS_BOARD)
    tops = ~IS_BOARD
    assert np.max(np.abs(ROWS[tops] @ (lie.coefficients - TRUE))) < 1e-3


def test_too_few_heights_are_refused() -> None:
    dz = np.full(U.size, np.nan)
    dz[:13] = 0.0
    with pytest.raises(ValueError, match="only 13 heights are known in both scans"):
        fit_lie(ROWS, dz, U, IS_BOARD)
