"""One-way analysis of variance: what it finds, what it refuses, how much many items count."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import f_oneway

from calibration.uncertainty.anova import AnovaError, effective_dof, one_way


def test_f_and_p_are_those_of_a_library() -> None:
    values = np.random.default_rng(1).normal(size=(4, 6)) + np.arange(4)[:, None]
    found, other = one_way(values), f_oneway(*values)
    assert found.f == pytest.approx(other.statistic, rel=1e-12)
    assert found.p == pytest.approx(other.pvalue, rel=1e-9)


def test_components_by_hand() -> None:
    """Means 1 and 4, both with variance 2: MS_b = 2 * 4.5 = 9, s_L^2 = (9 - 2) / 2."""
    found = one_way(np.array([[0.0, 2.0], [3.0, 5.0]]))
    assert found.ms_between == pytest.approx(9.0)
    assert found.s_r == pytest.approx(np.sqrt(2.0))
    assert found.s_l == pytest.approx(np.sqrt(3.5))
    assert found.s_big_r == pytest.approx(np.sqrt(5.5))
    assert not found.below_zero


def test_a_negative_variance_is_0_and_said() -> None:
    found = one_way(np.array([[0.0, 2.0], [2.0, 0.0]]))
    assert found.below_zero
    assert found.s_l == 0.0
    assert found.s_big_r == found.s_r


def test_readings_that_do_not_scatter() -> None:
    assert one_way(np.ones((3, 3))).f == 1.0
    apart = one_way(np.array([[1.0, 1.0], [2.0, 2.0]]))
    assert apart.f == np.inf
    assert apart.p == 0.0


@pytest.mark.parametrize("shape", [(1, 5), (3, 1), (3, 3, 0)])
def test_too_few_are_refused(shape: tuple[int, ...]) -> None:
    with pytest.raises(AnovaError, match="2 or more"):
        one_way(np.zeros(shape))


def test_a_missing_reading_is_refused() -> None:
    with pytest.raises(AnovaError, match="missing reading"):
        one_way(np.array([[0.0, np.nan], [1.0, 2.0]]))


def test_independent_items_count_in_full_and_equal_ones_not_at_all() -> None:
    rng = np.random.default_rng(2)
    independent = rng.normal(size=(400, 30))
    assert effective_dof(independent, 400) == pytest.approx(400 * 30, rel=0.03)
    equal = np.repeat(rng.normal(size=(400, 1)), 30, axis=1)
    assert effective_dof(equal, 400) == pytest.approx(400.0, rel=0.02)


def test_items_of_unlike_scatter_count_less() -> None:
    """Satterthwaite: (sum of variances)^2 / sum of their squares."""
    scale = np.array([1.0, 1.0, 3.0])
    values = scale * np.random.default_rng(3).normal(size=(2000, 3))
    assert effective_dof(values, 2000) / 2000 == pytest.approx(11.0**2 / 83.0, rel=0.05)


def test_one_degree_of_freedom_tells_nothing_of_the_items() -> None:
    assert effective_dof(np.ones((2, 5)), 1) == 1.0
