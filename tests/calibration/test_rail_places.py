"""Where an object is best moved to between its scans."""

from __future__ import annotations

import numpy as np
import pytest

from calibration.rail.places import APART_MM, suggest_places, wave_shares


def worst(places: tuple[float, ...], reach_mm: float) -> float:
    period = np.geomspace(8.0, 2.0 * reach_mm, 1000)
    return float(wave_shares(np.array([places]), period).min())


@pytest.mark.parametrize(("count", "least"), [(3, 0.02), (4, 0.25), (6, 0.6), (8, 0.7)])
def test_no_wave_hides(count: int, least: float) -> None:
    places = suggest_places(count, 87.4)
    assert places[0] == 0.0
    assert places[-1] == 87.0
    assert np.diff(places).min() >= APART_MM - 1.0
    assert worst(places, 87.0) > least
    # even steps hide every wave that divides the step
    assert worst(tuple(np.linspace(0.0, 87.0, count)), 87.0) < 1e-3


def test_the_same_every_time() -> None:
    assert suggest_places(4, 100.0) == suggest_places(4, 100.0)


def test_a_wave_in_step_with_the_places_is_not_seen() -> None:
    shares = wave_shares(np.array([[0.0, 20.0, 60.0]]), np.array([20.0, 40.0]))
    # 0, 1/2 and 3/2 turns: the mean is -1/3
    np.testing.assert_allclose(shares, [[0.0, 1.0 - 1.0 / 9.0]], atol=1e-12)


@pytest.mark.parametrize(("count", "reach"), [(2, 100.0), (5, 19.0)])
def test_no_room(count: int, reach: float) -> None:
    with pytest.raises(ValueError, match="allowed 3 or more, 5 mm apart"):
        suggest_places(count, reach)
