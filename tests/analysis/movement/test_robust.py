"""A fit through points of which many are wrong, whole stations at a time."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.movement.robust import LEAST_TYPICAL, robust_fit, typical

X = np.repeat(np.linspace(-1.0, 1.0, 22), 5)
STATION = np.repeat(np.arange(22), 5)
ROWS = np.vander(X, 4, increasing=True)
TRUE = np.array([1.0, -2.0, 3.0, 0.5])
U = np.full(X.size, 1e-3)
PRIOR = np.full(4, 1e-4)


def told_apart(seed: int, wrong: list[int], by: float) -> bool:
    """Whether the wrong stations, and no others, are far off the fit."""
    rng = np.random.default_rng(seed)
    is_wrong = np.isin(STATION, wrong)
    z = ROWS @ TRUE + rng.normal(0.0, 1e-3, X.size) + by * is_wrong
    far = np.abs(z - ROWS @ robust_fit(ROWS, z, U, STATION, PRIOR)) / U
    return bool(np.array_equal(far > 4.5 * typical(far), is_wrong))


@pytest.mark.parametrize("by", [0.012, 0.3, -5.0])
@pytest.mark.parametrize("wrong", [[0], [21], [0, 1], [2, 3, 4], list(range(1, 21, 3))])
def test_wrong_stations_are_told_apart(wrong: list[int], by: float) -> None:
    """One end, both frets there, some in a row, every third: least squares would follow."""
    told = [told_apart(seed, wrong, by) for seed in range(10)]
    assert np.mean(told) >= 0.9


def test_without_anything_wrong_it_is_least_squares() -> None:
    z = ROWS @ TRUE + np.random.default_rng(1).normal(0.0, 1e-3, X.size)
    plain = np.linalg.lstsq(ROWS, z, rcond=None)[0]
    found = robust_fit(ROWS, z, U, STATION, PRIOR)
    assert np.max(np.abs(ROWS @ (found - plain))) < 3e-4


def test_few_stations_are_all_taken() -> None:
    some = STATION < 5
    z = ROWS[some] @ TRUE
    found = robust_fit(ROWS[some], z, U[some], STATION[some], PRIOR)
    np.testing.assert_allclose(ROWS[some] @ found, z, atol=1e-5)


def test_typical() -> None:
    assert typical(np.abs(np.random.default_rng(2).normal(0.0, 3.0, 4000))) == pytest.approx(
        3.0, rel=0.05
    )
    assert typical(np.zeros(9)) == LEAST_TYPICAL
