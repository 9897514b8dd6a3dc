"""Readings gathered around the frets."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from analysis.crowns.windows import HALF_MM, gather
from calibration.profile import Profile

X = np.arange(0.0, 100.0, 0.05)


def crowned(at: float) -> np.ndarray:
    return np.where(np.abs(X - at) < 1.2, np.sqrt(np.clip(1.44 - (X - at) ** 2, 0, None)), 0.0)


def test_windows_stand_where_the_crowns_are(make_profile: Callable[..., Profile]) -> None:
    """Half a millimetre off the expected place, both ways."""
    profile = make_profile(X, np.maximum(crowned(30.5), crowned(59.5)))
    found = gather([profile], [np.array([30.0, 60.0])])
    np.testing.assert_allclose(found.start_x_mm, [30.5, 59.5], atol=0.05)
    np.testing.assert_allclose(found.start_z_mm, 1.2, atol=0.01)
    assert found.count == 2
    for i, at in enumerate((30.5, 59.5)):
        inside = found.x_mm[i, found.ok[i]]
        assert np.abs(inside - at).max() == pytest.approx(HALF_MM, abs=0.1)


def test_one_high_reading_does_not_place_a_window(make_profile: Callable[..., Profile]) -> None:
    z = crowned(30.0)
    z[X.searchsorted(30.9)] += 1.5
    found = gather([make_profile(X, z)], [np.array([30.0])])
    assert found.start_x_mm[0] == pytest.approx(30.0, abs=1.0)
    assert np.abs(found.x_mm[0, found.ok[0]] - 30.0).min() < 0.15
    assert found.start_z_mm[0] == pytest.approx(1.2, abs=0.02)


def test_flagged_readings_are_left_out(make_profile: Callable[..., Profile]) -> None:
    z = crowned(30.0)
    z[600] = np.nan
    found = gather([make_profile(X, z)], [np.array([30.0])])
    assert np.isfinite(found.z_mm[found.ok]).all()
    assert X[600] not in found.x_mm[found.ok]


def test_padding_is_not_ok(make_profile: Callable[..., Profile]) -> None:
    coarse = make_profile(X[::4], crowned(30.0)[::4])
    found = gather([make_profile(X, crowned(30.0)), coarse], [np.array([30.0])] * 2)
    assert found.ok.sum(axis=1).tolist() == [32, 8]


def test_readings_can_be_left_out_afterwards(make_profile: Callable[..., Profile]) -> None:
    found = gather([make_profile(X, crowned(30.0))], [np.array([30.0])])
    assert not found.keeping(np.zeros_like(found.ok)).ok.any()


def test_a_pass_without_a_single_reading(make_profile: Callable[..., Profile]) -> None:
    blind = make_profile(X, np.full_like(X, np.nan))
    found = gather([make_profile(X, crowned(30.0)), blind], [np.array([30.0])] * 2)
    assert not found.ok[1].any()
