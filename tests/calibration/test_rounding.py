"""What rounding to whole counts does to a pass as a whole."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calibration.lag.rounding import rounding_counts, rounding_mm, scatter_mm


@pytest.mark.parametrize(
    ("step", "expected"),
    [
        (3.0, 1.0 / np.sqrt(12.0)),
        (12.5, 0.5 / np.sqrt(12.0)),
        (2.25, 0.25 / np.sqrt(12.0)),
    ],
)
def test_tidy_steps_leave_what_all_readings_share(step: float, expected: float) -> None:
    assert rounding_counts(step, 100000) == pytest.approx(expected, rel=0.02)
    phases = np.random.default_rng(1).uniform(0.0, 1.0, 4000)[:, None]
    x = phases + step * np.arange(400)
    assert np.std(np.mean(np.rint(x) - x, axis=1)) == pytest.approx(expected, rel=0.05)


def test_untidy_steps_leave_next_to_nothing() -> None:
    assert rounding_counts(12.14125, 9000) < 0.01
    assert rounding_counts(5.0 + 0.6180339887, 9000) < 0.01


@given(st.floats(0.01, 40.0), st.integers(64, 100000))
def test_never_more_than_one_count_rounded(step: float, readings: int) -> None:
    assert 0.0 <= rounding_counts(step, readings) <= 1.0 / np.sqrt(12.0) + 1e-9


def test_of_a_pass_with_standstills_gaps_and_ramps() -> None:
    t = np.delete(np.arange(0.0, 20.0, 0.0025), [700, 701, 2500])
    x = 25.0 * np.clip(t - 1.0, 0.0, 18.0)
    counted = 0.005 * np.rint(x / 0.005)
    assert rounding_mm(t, counted, 0.005) == pytest.approx(0.005 * 0.144, rel=0.05)
    assert scatter_mm(counted) == pytest.approx(0.005 * 0.35, rel=0.1)
    assert rounding_mm(t, np.zeros_like(t), 0.005) == pytest.approx(0.005 / np.sqrt(12.0))
    assert rounding_mm(t[:20], counted[:20], 0.005) == pytest.approx(0.005 / np.sqrt(12.0))


def test_of_a_hand_that_keeps_no_speed() -> None:
    t = np.arange(0.0, 20.0, 0.0025)
    x = 0.005 * np.rint((12.0 * t + 8.0 * np.sin(1.3 * t)) / 0.005)
    assert 0.0 < rounding_mm(t, x, 0.005) < 0.005 / np.sqrt(12.0)
