"""The gauge study: components found, pooling decided, nonsense refused."""

from __future__ import annotations

import numpy as np
import pytest

from calibration.uncertainty.anova import AnovaError
from calibration.uncertainty.gauge import gauge_study


def test_components_are_found() -> None:
    """30 parts of spread 10, 6 appraisers that differ by 2 and by 1 part for part, noise 0.5."""
    rng = np.random.default_rng(4)
    found = np.array([_one(rng) for _ in range(60)])
    ev, av, pv = np.sqrt(np.mean(found**2, axis=0))
    assert ev == pytest.approx(0.5, rel=0.03)
    assert av == pytest.approx(np.hypot(2.0, 1.0), rel=0.15)
    assert pv == pytest.approx(10.0, rel=0.08)


def _one(rng: np.random.Generator) -> tuple[float, float, float]:
    values = (
        10.0 * rng.normal(size=(30, 1, 1))
        + 2.0 * rng.normal(size=(1, 6, 1))
        + rng.normal(size=(30, 6, 1))
        + 0.5 * rng.normal(size=(30, 6, 3))
    )
    study = gauge_study(values)
    assert not study.pooled
    return study.ev, study.av, study.pv


def test_a_perfect_gauge_tells_any_number_apart() -> None:
    study = gauge_study(np.broadcast_to(np.arange(4.0)[:, None, None], (4, 2, 2)))
    assert study.grr == 0.0
    assert study.categories == np.inf
    assert study.grr_percent == 0.0


def test_parts_all_alike_cannot_be_told_apart() -> None:
    study = gauge_study(np.zeros((3, 2, 2)))
    assert study.tv == 0.0
    assert study.grr_percent == 0.0


@pytest.mark.parametrize("shape", [(1, 3, 3), (3, 1, 3), (3, 3, 1)])
def test_too_few_are_refused(shape: tuple[int, int, int]) -> None:
    with pytest.raises(AnovaError, match="2 or more each"):
        gauge_study(np.zeros(shape))


def test_a_missing_reading_is_refused() -> None:
    values = np.zeros((3, 3, 3))
    values[1, 1, 1] = np.nan
    with pytest.raises(AnovaError, match="missing reading"):
        gauge_study(values)
