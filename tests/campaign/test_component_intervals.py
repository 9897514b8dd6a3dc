"""Coverage of the intervals of variance components over many runs and designs."""

from __future__ import annotations

import sys

import numpy as np
import pytest

from calibration.uncertainty.anova import one_way
from calibration.uncertainty.components import between, repeatability, reproducibility

RUNS = 2000


def _covered(groups: int, n: int, items: int, s_l: float, shared: float) -> np.ndarray:
    rng = np.random.default_rng([groups, n, items])
    shape = np.where(np.arange(items) % 2, 1.0, -1.0)
    truths = np.array([1.0, s_l, np.hypot(1.0, s_l)])
    hits = np.zeros(3)
    for _ in range(RUNS):
        own = np.sqrt(1.0 - shared) * rng.normal(size=(groups, n, items))
        common = np.sqrt(shared) * rng.normal(size=(groups, n, 1))
        found = one_way(own + common + s_l * rng.normal(size=(groups, 1, 1)) * shape)
        spreads = [of(found) for of in (repeatability, between, reproducibility)]
        hits += [a.low <= t <= a.high for a, t in zip(spreads, truths, strict=True)]
    return np.asarray(100.0 * hits / RUNS)


@pytest.mark.campaign
@pytest.mark.parametrize("groups", [2, 3, 5])
@pytest.mark.parametrize(("s_l", "shared"), [(0.3, 0.0), (1.0, 0.05), (3.0, 0.1)])
def test_coverage(
    groups: int, s_l: float, shared: float, capsys: pytest.CaptureFixture[str]
) -> None:
    percents = _covered(groups, 3, 66, s_l, shared)
    with capsys.disabled():
        sys.stdout.write(f"\n{groups} clampings, s_L {s_l}, shared {shared}: {percents}\n")
    assert np.all(percents >= 92.5)
    assert np.all(percents <= 98.5)
