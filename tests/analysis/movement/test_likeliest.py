"""Sizes of groups of coefficients by marginal likelihood."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from analysis.movement.likeliest import Sizes, likeliest, posterior

GROUP = np.array([-1, -1, *[0] * 40, *[1] * 40])
SIZES = Sizes(
    GROUP, np.full(GROUP.size, 10.0), np.full(2, 1e-6), np.full(2, 10.0), np.array([0.1, 0.1])
)


def made(seed: int, sizes: tuple[float, float], scatter: float) -> tuple[np.ndarray, ...]:
    rng = np.random.default_rng(seed)
    rows = rng.normal(size=(300, GROUP.size))
    coefficients = np.concatenate(
        [[3.0, -2.0], rng.normal(0.0, sizes[0], 40), rng.normal(0.0, sizes[1], 40)]
    )
    u = rng.uniform(0.5, 2.0, 300) * 1e-2
    return rows, rows @ coefficients + scatter * u * rng.normal(size=300), u, coefficients


def test_known_sizes_and_scatter_are_found() -> None:
    found = [likeliest(*made(seed, (0.02, 0.5), 1.4)[:3], SIZES) for seed in range(12)]
    sizes = np.array([one.sizes for one in found])
    # 40 draws give a deviation to 11 %, 12 of them to 3.2 %
    np.testing.assert_allclose(np.mean(sizes, axis=0), [0.02, 0.5], rtol=0.1)
    assert np.mean([one.scatter for one in found]) == pytest.approx(1.4, rel=0.04)


def test_covariance_covers() -> None:
    z = []
    for seed in range(30):
        rows, values, u, true = made(seed, (0.02, 0.5), 1.0)
        found = likeliest(rows, values, u, SIZES)
        z.append((found.mean - true) / np.sqrt(np.diag(found.covariance)))
    assert np.std(z) == pytest.approx(1.0, abs=0.05)


def test_it_is_the_top_of_the_likelihood() -> None:
    """Against the points' density written out, at the found sizes and beside them."""
    rows, values, u, _ = made(3, (0.02, 0.5), 1.0)
    found = likeliest(rows, values, u, SIZES)

    def log_density(sizes: np.ndarray, scatter: float) -> float:
        spread = np.where(GROUP < 0, 10.0, sizes[GROUP])
        covariance = (rows * spread**2) @ rows.T + np.diag((scatter * u) ** 2)
        return float(multivariate_normal(np.zeros(300), covariance).logpdf(values))

    top = log_density(found.sizes, found.scatter)
    for factor in (0.9, 1.1):
        assert log_density(found.sizes * [factor, 1.0], found.scatter) < top + 1e-3
        assert log_density(found.sizes * [1.0, factor], found.scatter) < top + 1e-3
        assert log_density(found.sizes, found.scatter * factor) < top + 1e-3


def test_a_group_that_is_not_there_is_as_small_as_it_may_be() -> None:
    rows, values, u, _ = made(5, (0.0, 0.5), 1.0)
    assert likeliest(rows, values, u, SIZES).sizes[0] < 1e-3


def test_posterior_is_that_of_bayes() -> None:
    rows, values, u, _ = made(6, (0.02, 0.5), 1.0)
    prior = SIZES.precision(np.array([0.02, 0.5]))
    mean, covariance = posterior(rows, values, u, prior, 1.3)
    weighted = rows / (1.3 * u)[:, None]
    information = weighted.T @ weighted + np.diag(prior)
    np.testing.assert_allclose(covariance @ information, np.eye(prior.size), atol=1e-6)
    np.testing.assert_allclose(information @ mean, weighted.T @ (values / (1.3 * u)), rtol=1e-6)
