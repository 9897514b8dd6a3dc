from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from daq.record.profiles import raw_passes
from daq.record.scan import PassRecord, Scan
from daq.wire.records import ABSENT, SampleBlock


def block(t_us: list[int], x: list[int], y: list[int], raw: list[int]) -> SampleBlock:
    n = len(t_us)
    return SampleBlock(
        np.arange(n, dtype=np.uint32),
        (np.array(t_us) % 2**32).astype(np.uint32),
        np.array(x, np.int32),
        np.array(y, np.int32),
        np.array(raw, np.int32),
        np.full(n, ABSENT, np.int32),
    )


def record(
    number: int,
    samples: SampleBlock,
    *,
    lane: int = 0,
    direction: int = 1,
    speed: float = 25.0,
    attempt: int = 1,
    good: bool = True,
    y_set_mm: float | None = None,
) -> PassRecord:
    return PassRecord(
        number, lane, 2.5, direction, speed, y_set_mm, attempt, good, (), samples, (), 0, 0
    )


def scan(*passes: PassRecord) -> Scan:
    return Scan(
        Path("a.h5"), "1", "scan", "strung", "", "", "", "", "", None, {}, passes, "done", ""
    )


def some(t_us: int = 0) -> SampleBlock:
    return block([t_us, t_us + 1000], [0, 200], [ABSENT] * 2, [5, 6])


def test_counts_become_units() -> None:
    samples = block([0, 2500, 5000], [0, -2, 3], [100, ABSENT, -1], [7, ABSENT, -9])
    (one,) = raw_passes(scan(record(4, samples, lane=3, y_set_mm=8.25)), 0.005, 0.01, 0.001)
    assert (one.lane, one.string, one.direction, one.speed_mm_s) == (3, 2.5, 1, 25.0)
    np.testing.assert_allclose(one.t_s, [0, 0.0025, 0.005])
    np.testing.assert_allclose(one.x_mm, [0, -0.01, 0.015])
    np.testing.assert_allclose(one.y_mm, [1.0, 8.25, -0.01])
    np.testing.assert_allclose(one.z_mm, [0.007, math.nan, -0.009])


def test_cross_position_set_by_hand() -> None:
    (one,) = raw_passes(scan(record(0, some(), y_set_mm=-3.5)), 0.005, None, 0.001)
    assert one.y_mm.tolist() == [-3.5, -3.5]


def test_time_runs_on_over_passes_and_over_the_wrap() -> None:
    passes = [
        record(0, some(2**32 - 3_000_000), good=False),
        record(1, some(2**32 - 500)),
        record(2, some(1_000_000), direction=-1),
    ]
    found = raw_passes(scan(*passes), 0.005, None, 0.001)
    np.testing.assert_allclose(found[0].t_s, [2.9995, 3.0005])
    np.testing.assert_allclose(found[1].t_s, [4.0, 4.001])


def test_only_the_latest_good_attempt_counts() -> None:
    passes = [
        record(0, some(0), attempt=1, good=False),
        record(1, some(10_000), attempt=2),
        record(2, some(20_000), attempt=3),
        record(3, some(30_000), attempt=4, good=False),
        record(4, some(40_000), direction=-1),
        record(5, some(50_000), lane=1),
        record(6, some(60_000), speed=50.0),
    ]
    found = raw_passes(scan(*passes), 0.005, None, 0.001)
    starts = [float(one.t_s[0]) for one in found]
    assert starts == pytest.approx([0.02, 0.04, 0.05, 0.06])


def test_scan_without_passes_or_samples() -> None:
    assert raw_passes(scan(), 0.005, None, 0.001) == []
    (one,) = raw_passes(scan(record(0, SampleBlock.empty())), 0.005, None, 0.001)
    assert one.t_s.size == one.z_mm.size == 0
