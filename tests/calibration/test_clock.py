"""Wrapping counters, and device time against arrivals."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.clocks.clock import lower_hull_line, unwrap_u32


@settings(deadline=None, max_examples=100)
@given(st.integers(0, 2**32 - 1), st.lists(st.integers(0, 2**32 - 1), max_size=50))
def test_any_steps_under_a_turn_come_back(start: int, steps: list[int]) -> None:
    true = start + np.concatenate([[0], np.cumsum(steps, dtype=np.int64)]).astype(np.int64)
    wrapped = (true % 2**32).astype(np.uint32)
    np.testing.assert_array_equal(unwrap_u32(wrapped), true)


def test_wraps_at_the_top_only() -> None:
    counter = np.array([2**32 - 2, 2**32 - 1, 0, 1], np.uint32)
    assert np.diff(unwrap_u32(counter)).tolist() == [1, 1, 1]


def test_nothing_to_unwrap() -> None:
    assert unwrap_u32(np.empty(0, np.uint32)).size == 0


def test_line_under_the_cloud_of_arrivals() -> None:
    """Delays only add: the mean would be 3 ms late, the hull is not."""
    rng = np.random.default_rng(1)
    device = np.arange(0.0, 60.0, 0.0025)
    delays = rng.exponential(0.003, device.size)
    wall = 1.7e9
    offset, rate = lower_hull_line(device, wall + 5.0 + 1.00002 * device + delays)
    late = (offset - wall - 5.0) + (rate - 1.00002) * device
    assert np.max(np.abs(late)) < 50e-6


@settings(deadline=None, max_examples=60)
@given(st.lists(st.tuples(st.floats(0, 100), st.floats(0, 1)), min_size=1, max_size=60))
def test_no_arrival_lies_under_the_line(points: list[tuple[float, float]]) -> None:
    device, delay = np.round(np.array(points, dtype=float).reshape(-1, 2).T, 6)
    arrival = 10.0 + device + delay
    offset, rate = lower_hull_line(device, arrival)
    assert np.all(arrival - (offset + rate * device) > -1e-6 * max(1.0, abs(rate)))


def test_one_instant_has_no_rate() -> None:
    offset, rate = lower_hull_line(np.array([2.0, 2.0]), np.array([5.5, 5.0]))
    assert rate == 1.0
    assert offset + 2.0 == 5.0


def test_no_arrivals_are_refused() -> None:
    with pytest.raises(ValueError, match="0 device times"):
        lower_hull_line(np.empty(0), np.empty(0))
