"""Intervals of variance components: known cases, and how often they hold the truth."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import chi2

from calibration.uncertainty.anova import OneWay, one_way
from calibration.uncertainty.components import (
    Spread,
    between,
    chance_of_scatter,
    chi_square_interval,
    repeatability,
    reproducibility,
)

RUNS = 300
#: 95 %, give or take three deviations of RUNS tries.
LEAST, MOST = 91.2, 98.8


def test_chi_square_interval_by_hand() -> None:
    low, high = chi_square_interval(4.0, 10)
    assert low == pytest.approx(40.0 / chi2.ppf(0.975, 10))
    assert high == pytest.approx(40.0 / chi2.ppf(0.025, 10))


def test_one_item_of_known_noise_has_the_usual_interval() -> None:
    """With MS_w known to be next to nothing, n s_L^2 is MS_b: chi-square bounds."""
    spread = between(OneWay(6, 2, 2.0, 1e-9, 6.0))
    assert spread.low**2 == pytest.approx(5 * 1.0 / chi2.ppf(0.975, 5), rel=5e-3)
    assert spread.high**2 == pytest.approx(5 * 1.0 / chi2.ppf(0.025, 5), rel=5e-2)


def test_nothing_scatters() -> None:
    still = OneWay(3, 3, 0.0, 0.0, 6.0)
    assert between(still) == Spread(0.0, 0.0, 0.0)
    assert reproducibility(still) == Spread(0.0, 0.0, 0.0)
    assert repeatability(still) == Spread(0.0, 0.0, 0.0)


def test_bounds_hold_the_estimate_whatever_it_is() -> None:
    for b in (0.0, 0.2, 1.0, 30.0):
        for w in (0.0, 1e-12, 1.0):
            for of in (between, reproducibility, repeatability):
                spread = of(OneWay(3, 3, b, w, 120.0))
                assert 0.0 <= spread.low <= spread.s <= spread.high


def test_chance_of_scatter() -> None:
    assert chance_of_scatter(1.0, 50.0, 1.0) == pytest.approx(0.47, abs=0.01)
    assert chance_of_scatter(2.0, 50.0, 1.0) < 1e-4
    assert chance_of_scatter(0.0, 5.0, 0.0) == 1.0
    assert chance_of_scatter(1.0, 5.0, 0.0) == 0.0


def covered(
    runs: int, groups: int, n: int, items: int, s_l: float, shared: float
) -> tuple[float, float, float]:
    """Percent of runs whose intervals hold s_r = 1, s_L and s_R.

    A clamping adds one shape with a random size; `shared` is the part of a scan's variance
    that all its items have in common.
    """
    rng = np.random.default_rng(5)
    shape = np.ones(1) if items == 1 else np.sqrt(2.0) * np.sin(np.arange(items))
    shape = shape / np.sqrt(np.mean(shape**2))
    truths = (1.0, s_l, float(np.hypot(1.0, s_l)))
    hits = np.zeros(3)
    for _ in range(runs):
        own = np.sqrt(1.0 - shared) * rng.normal(size=(groups, n, items))
        common = np.sqrt(shared) * rng.normal(size=(groups, n, 1))
        values = own + common + s_l * rng.normal(size=(groups, 1, 1)) * shape
        found = one_way(values)
        for k, of in enumerate((repeatability, between, reproducibility)):
            spread = of(found)
            hits[k] += spread.low <= truths[k] <= spread.high
    r, by, both = 100.0 * hits / runs
    return float(r), float(by), float(both)


@pytest.mark.parametrize(
    ("groups", "n", "items", "s_l", "shared"),
    [(3, 3, 66, 0.5, 0.0), (3, 3, 66, 2.0, 0.1), (5, 4, 1, 1.0, 0.0)],
)
def test_intervals_hold_the_truth_95_times_in_100(
    groups: int, n: int, items: int, s_l: float, shared: float
) -> None:
    for percent in covered(RUNS, groups, n, items, s_l, shared):
        assert LEAST <= percent <= MOST


def test_without_a_clamping_effect_the_interval_reaches_0() -> None:
    """One-sided then: at least 95 in 100 hold 0."""
    assert covered(100, 3, 3, 66, 0.0, 0.0)[1] >= 95.0
