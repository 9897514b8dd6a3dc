from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.clock import lower_hull_line, unwrap_u32


@settings(deadline=None)
@given(st.integers(0, 2**32 - 1), st.lists(st.integers(0, 2**32 - 1), max_size=50))
def test_any_steps_below_a_whole_turn_come_back(start: int, steps: list[int]) -> None:
    true = np.cumsum([start, *steps])
    found = unwrap_u32((true % 2**32).astype(np.uint32))
    assert found.dtype == np.int64
    assert found.tolist() == true.tolist()


def test_no_values_and_one_value() -> None:
    assert unwrap_u32(np.empty(0, np.uint32)).tolist() == []
    assert unwrap_u32(np.array([4294967295], np.uint32)).tolist() == [4294967295]


def test_line_under_delays_that_only_add() -> None:
    random = np.random.default_rng(3)
    device = np.arange(20_000) / 400.0
    delay = random.exponential(2e-3, device.size)
    delay[::50] = 0.0
    arrival = 1.7e9 + 0.25 + 1.00003 * device + delay
    offset, rate = lower_hull_line(device, arrival)
    assert rate == pytest.approx(1.00003, abs=2e-7)
    assert offset == pytest.approx(1.7e9 + 0.25, abs=2e-6)


def test_fitting_the_mean_instead_would_be_off_by_the_mean_delay() -> None:
    device = np.array([0.0, 1.0, 2.0, 3.0])
    arrival = device + np.array([0.0, 0.5, 0.5, 0.0])
    assert lower_hull_line(device, arrival) == pytest.approx((0.0, 1.0))


@settings(deadline=None)
@given(
    st.lists(st.tuples(st.integers(-1000, 1000), st.integers(-1000, 1000)), min_size=1, max_size=40)
)
def test_line_is_under_every_point_and_none_under_them_is_nearer(
    points: list[tuple[int, int]],
) -> None:
    device, arrival = np.array(points, float).T
    offset, rate = lower_hull_line(device, arrival)
    above = arrival - (offset + rate * device)
    assert above.min() >= -1e-8
    # By brute force: the best line through two of the points that has none below it.
    best = above.mean()
    for x, y in points:
        for other_x, other_y in points:
            if other_x == x:
                continue
            slope = (other_y - y) / (other_x - x)
            apart = arrival - y - slope * (device - x)
            if apart.min() >= -1e-9:
                assert apart.mean() >= best - 1e-8


def test_one_point_and_equal_device_times_have_rate_one() -> None:
    assert lower_hull_line(np.array([3.0]), np.array([10.0])) == (7.0, 1.0)
    assert lower_hull_line(np.array([3.0, 3.0]), np.array([11.0, 10.0])) == (7.0, 1.0)


@pytest.mark.parametrize("arrivals", [0, 2])
def test_points_that_are_no_points(arrivals: int) -> None:
    with pytest.raises(ValueError, match="device times"):
        lower_hull_line(np.zeros(arrivals // 2), np.zeros(arrivals))
