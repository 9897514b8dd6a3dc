"""From recorded counts to passes in units, as the corrections take them."""

from __future__ import annotations

import math

import numpy as np

from calibration.clocks.clock import unwrap_u32
from calibration.passes import FloatArray, RawPass
from daq.record.scan import PassRecord, Scan
from daq.wire.records import ABSENT, IntColumn

US_PER_S = 1e6


def raw_passes(
    scan: Scan, mm_per_count_x: float, mm_per_count_y: float | None, mm_per_count_z: float
) -> list[RawPass]:
    """The good passes of a scan in the order they were made, every sample of each.

    Of several good passes over one lane in one direction at one speed, the latest attempt.
    On a rig of two links t_s is the sensor's clock and x and y are the carriage's counts where the
    reading was taken (`calibration.clocks.two`): what the clocks may be apart is in `scan.clocks`.
    t_s counts from the first sample of the scan's first pass, good or not. z is NaN where the
    sensor read nothing; y is where the slide was set where it does not count by itself, and
    NaN where neither is known (mm_per_count_y None and nothing set).
    """
    times = _times_s(scan)
    return [
        _raw_pass(scan.passes[row], times[row], mm_per_count_x, mm_per_count_y, mm_per_count_z)
        for row in sorted(_latest_good(scan).values())
    ]


def _latest_good(scan: Scan) -> dict[tuple[int, int, float], int]:
    """Row of the highest attempt of each lane, direction and speed."""
    latest: dict[tuple[int, int, float], int] = {}
    for row, one in enumerate(scan.passes):
        if not one.good:
            continue
        key = (one.lane, one.direction, one.speed_mm_s)
        if key not in latest or one.attempt >= scan.passes[latest[key]].attempt:
            latest[key] = row
    return latest


def _times_s(scan: Scan) -> list[FloatArray]:
    """Device time of every pass. Unwrapped over all of them, for the wrap may fall between."""
    columns = [one.samples.t_us for one in scan.passes]
    if not columns:
        return []
    unwrapped = unwrap_u32(np.concatenate(columns))
    seconds: FloatArray = (unwrapped - unwrapped[:1]) / US_PER_S
    ends = np.cumsum([column.size for column in columns])
    return np.split(seconds, ends[:-1])


def _raw_pass(
    one: PassRecord,
    t_s: FloatArray,
    mm_per_count_x: float,
    mm_per_count_y: float | None,
    mm_per_count_z: float,
) -> RawPass:
    y_set_mm = math.nan if one.y_set_mm is None else one.y_set_mm
    y_scale = math.nan if mm_per_count_y is None else mm_per_count_y
    return RawPass(
        lane=one.lane,
        string=one.string,
        direction=one.direction,
        speed_mm_s=one.speed_mm_s,
        t_s=t_s,
        x_mm=_scaled(one.samples.x, mm_per_count_x, math.nan),
        y_mm=_scaled(one.samples.y, y_scale, y_set_mm),
        z_mm=_scaled(one.samples.raw, mm_per_count_z, math.nan),
        temp_c=_celsius(one.samples.temp),
    )


def _celsius(hundredths: IntColumn) -> FloatArray | None:
    """None where no sample has a temperature."""
    return None if (hundredths == ABSENT).all() else _scaled(hundredths, 0.01, math.nan)


def _scaled(counts: IntColumn, mm_per_count: float, where_absent_mm: float) -> FloatArray:
    values: FloatArray = counts.astype(np.float64) * mm_per_count
    values[counts == ABSENT] = where_absent_mm
    return values
