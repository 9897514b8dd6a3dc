"""Device clocks: counters that wrap, and how they run against the host's clock."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from calibration.passes import FloatArray

#: After so long a 32-bit counter of microseconds begins again.
TURN_S = 2**32 * 1e-6


def unwrap_u32(values: NDArray[np.uint32]) -> NDArray[np.int64]:
    """A wrapping 32-bit counter as one that does not wrap: int64[n], starting at values[0].

    Each step is the difference modulo 2^32, so it is never negative: a counter in microseconds
    may pause for up to 71.6 minutes. A longer pause loses whole turns, which no counter shows.
    """
    counter = np.asarray(values, np.uint32)
    unwrapped = np.empty(counter.size, np.int64)
    unwrapped[:1] = counter[:1]
    unwrapped[1:] = np.diff(counter)
    return np.cumsum(unwrapped)


def unwrap_by_host(values: NDArray[np.uint32], arrival_s: FloatArray) -> FloatArray:
    """A wrapping microsecond counter in seconds, whole turns counted by the host's clock.

    values: uint32[n]. arrival_s: float[n], when each came. Returns float[n], starting at
    values[0]; each step is the one nearest to what passed on the host, so a pause may be of any
    length, and a device that started anew shows as a step that is no time that passed.
    """
    device_s = np.asarray(values, np.float64) * 1e-6
    passed = (arrival_s - arrival_s[:1]) - (device_s - device_s[:1])
    return np.asarray(device_s + TURN_S * np.rint(passed / TURN_S))


def lower_hull_line(device_s: FloatArray, arrival_s: FloatArray) -> tuple[float, float]:
    """(offset, rate) of arrival = offset + rate * device under the cloud of arrivals.

    device_s, arrival_s: float[n], device time of each sample and when it came, seconds.

    Delays only add, so the true line lies under every point. Of all lines that do, this is the
    one with the least mean distance: the edge of the lower convex hull over the mean of
    device_s (Moon, Skelly and Towsley, INFOCOM 1999). Where all device times are equal the
    rate cannot be had and is 1. ValueError: no points, or lengths that differ.
    """
    if device_s.size == 0 or device_s.shape != arrival_s.shape:
        raise ValueError(f"{device_s.size} device times and {arrival_s.size} arrivals")
    # About their own origins: wall-clock seconds would cost the slopes half their digits.
    first, base = float(device_s[0]), float(arrival_s[0])
    hull = _lower_hull(device_s - first, arrival_s - base)
    left, right = _edge_over(hull, float(np.mean(device_s - first)))
    rate = 1.0 if left[0] == right[0] else (right[1] - left[1]) / (right[0] - left[0])
    return base + left[1] - rate * (first + left[0]), rate


Point = tuple[float, float]


def _lower_hull(x: FloatArray, y: FloatArray) -> list[Point]:
    """Corners from left to right (Andrew's monotone chain)."""
    order = np.lexsort((y, x))
    hull: list[Point] = []
    for point in zip(x[order].tolist(), y[order].tolist(), strict=True):
        while len(hull) > 1 and not _turns_left(hull[-2], hull[-1], point):
            hull.pop()
        hull.append(point)
    return hull


def _turns_left(a: Point, b: Point, c: Point) -> bool:
    return (b[0] - a[0]) * (c[1] - a[1]) > (b[1] - a[1]) * (c[0] - a[0])


def _edge_over(hull: list[Point], middle: float) -> tuple[Point, Point]:
    """The edge that spans `middle`; a single corner twice."""
    right = next((i for i, corner in enumerate(hull) if corner[0] >= middle), len(hull) - 1)
    right = min(max(right, 1), len(hull) - 1)
    return hull[max(right - 1, 0)], hull[right]
