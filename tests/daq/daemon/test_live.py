"""What a live view shows: every spike, however fast the rig sends."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.acquire.links.controller import Heard
from daq.daemon.live import EACH_S, MOST_BINS, Live, lows_and_highs
from daq.daemon.places import taken_ns
from daq.daemon.profile import BIN_MM, LiveProfile
from daq.wire.records import ABSENT, Batch, SampleBlock


def block(first: int, raw: np.ndarray, x: np.ndarray, rate_hz: float) -> SampleBlock:
    seq = np.arange(first, first + raw.size)
    return SampleBlock(
        seq.astype(np.uint32),
        np.round(seq * 1e6 / rate_hz).astype(np.uint32),
        x.astype(np.int32),
        np.full(raw.size, ABSENT, np.int32),
        raw.astype(np.int32),
        np.full(raw.size, ABSENT, np.int32),
    )


def heard(
    samples: SampleBlock, at_ns: int, *, reads: bool = True, drives: bool = True, bad: int = 0
) -> Heard:
    batch = Batch(samples, (), (), bad, b"")
    return Heard(0, reads, drives, batch, np.full(len(samples), at_ns, np.int64))


def stream(
    rate_hz: float, seconds: float, spike_at: int, piece_s: float
) -> Iterator[tuple[Heard, float]]:
    """A still rig with one spike, in pieces as they come."""
    size = max(1, round(rate_hz * piece_s))
    for first in range(0, round(rate_hz * seconds), size):
        raw = np.full(size, 1500)
        if first <= spike_at < first + size:
            raw[spike_at - first] = 2750
        at_s = (first + size) / rate_hz
        yield heard(block(first, raw, np.full(size, 2000), rate_hz), round(at_s * 1e9)), at_s


@pytest.mark.parametrize("rate_hz", [10.0, 400.0, 10_000.0, 100_000.0])
def test_a_spike_of_one_sample_is_seen_at_any_rate(rig_file: Any, rate_hz: float) -> None:
    live = Live(rig_file)
    pieces = stream(rate_hz, 2.0, round(rate_hz * 1.234), max(0.004, 1 / rate_hz))
    told = [message for one, now_s in pieces if (message := live.add(one, now_s))]
    assert max(high for message in told for high in message["high"]) == 2.75
    assert min(low for message in told for low in message["low"]) == 1.5
    assert len(told) <= 2.0 / EACH_S + 1
    assert all(len(message["low"]) <= MOST_BINS for message in told)
    assert told[-1]["rate_hz"] == pytest.approx(rate_hz, rel=0.01)
    assert max(high for one in told for high in one["profile"]["high"]) == 2.75


@given(
    st.lists(st.one_of(st.floats(-10, 10), st.just(float("nan"))), min_size=1, max_size=60),
    st.integers(1, 12),
)
def test_lows_and_highs_hold_every_reading(readings: list[float], most: int) -> None:
    z_mm = np.array(readings)
    low, high = lows_and_highs(z_mm, most)
    assert low.size == high.size == min(most, z_mm.size)
    if np.isfinite(z_mm).any():
        assert np.nanmin(low) == np.nanmin(z_mm)
        assert np.nanmax(high) == np.nanmax(z_mm)
    else:
        assert np.isnan(low).all()


def test_what_is_told_of_a_moment(rig_file: Any) -> None:
    live = Live(rig_file)
    raw = np.array([1500, ABSENT, 1502, ABSENT])
    samples = block(0, raw, np.array([0, 10, 50, 300]), 400.0)
    message = live.add(heard(samples, 5_000_000_000, bad=2), 1.0)
    assert message is not None
    assert (message["x_mm"], message["z_mm"], message["bad"]) == (1.5, 1.502, 2)
    assert message["from_ms"] == message["at_ms"] == 5000.0
    assert message["low"] == [1.5, None, 1.502, None]
    strip = message["profile"]  # bins of 0.1 mm from 0; the second and the last have no reading
    assert strip == {"first": 0, "low": [1.5, None, 1.502], "high": [1.5, None, 1.502]}


def test_lost_samples_and_gaps_are_counted(rig_file: Any) -> None:
    live = Live(rig_file)
    for first in (0, 6):
        live.add(heard(block(first, np.full(4, 1500), np.zeros(4), 400.0), first + 1), first * 1.0)
    assert live.seen is not None
    assert (live.seen.samples, live.seen.lost, live.seen.gaps) == (8, 2, 1)


def moving(first: int, count: int, late_ns: int) -> Heard:
    """A carriage on a link of its own that goes 50 counts (0.25 mm) each 2.5 ms."""
    seq = np.arange(first, first + count)
    samples = block(first, np.full(count, ABSENT), seq * 50, 400.0)
    came_ns = np.full(count, seq[-1] * 2_500_000 + late_ns)  # in one piece, with its last
    return Heard(1, False, True, Batch(samples, (), (), 0, b""), came_ns)


def test_on_two_links_a_reading_is_where_the_carriage_was_when_it_was_taken(rig_file: Any) -> None:
    live = Live(rig_file)
    assert live.add(moving(0, 9, 0), 0.0) is None  # until 20 ms, at 2 mm
    raw = 1500 + np.arange(5)
    # taken at 10 to 20 ms, at 1.0, 1.25, .. 2.0 mm, and come in one piece with the last
    message = live.add(heard(block(4, raw, np.zeros(5), 400.0), 20_000_000, drives=False), 0.1)
    assert message is not None
    assert message["x_mm"] == 2.0
    low = message["profile"]["low"]
    first = message["profile"]["first"]
    bins = {first + n: value for n, value in enumerate(low) if value is not None}
    at_mm = {round(1500 + n) / 1000: 1.0 + 0.25 * n for n in range(5)}
    assert set(bins.values()) == {1.5, 1.501, 1.502, 1.503, 1.504}
    assert all(abs((n + 0.5) * BIN_MM - at_mm[z_mm]) <= 0.051 for n, z_mm in bins.items())


def test_a_reading_waits_until_it_is_known_where_the_carriage_was(rig_file: Any) -> None:
    live = Live(rig_file)
    live.add(moving(0, 9, 0), 0.0)
    early = live.add(heard(block(12, np.array([1777]), np.zeros(1), 400.0), 30_000_000,
                           drives=False), 0.1)  # fmt: skip
    assert early is not None
    assert (early["z_mm"], early["profile"]) == (1.777, None)
    live.add(moving(9, 9, 0), 0.15)  # until 42.5 ms, at 4.25 mm
    later = live.add(heard(block(13, np.array([1500]), np.zeros(1), 400.0), 32_500_000,
                           drives=False), 0.2)  # fmt: skip
    assert later is not None
    bins = {later["profile"]["first"] + n: z for n, z in enumerate(later["profile"]["low"]) if z}
    ((here, z_mm),) = [(n, z) for n, z in bins.items() if z == 1.777]
    assert (here + 0.5) * BIN_MM == pytest.approx(3.0, abs=0.051)
    assert z_mm == 1.777


def test_the_devices_time_may_wrap_within_a_piece() -> None:
    t_us = np.array([2**32 - 1000, 2**32 - 500, 0, 500], np.uint64).astype(np.uint32)
    arrival_ns = np.array([10_000_000] * 4)
    assert taken_ns(t_us, arrival_ns).tolist() == [8_500_000, 9_000_000, 9_500_000, 10_000_000]


def test_before_the_carriage_was_heard_of_there_is_no_place(rig_file: Any) -> None:
    live = Live(rig_file)
    message = live.add(heard(block(0, np.full(1, 1500), np.zeros(1), 400.0), 1, drives=False), 0.0)
    assert message is not None
    assert message["x_mm"] is None
    assert message["profile"] is None


def test_the_profile_grows_and_keeps_its_extremes() -> None:
    profile = LiveProfile((0.0, 10.0))
    profile.add(np.array([0.21, 0.22, 3.35]), np.array([1.0, 2.0, 5.0]))
    strip = profile.add(np.array([0.25, 0.26]), np.array([1.5, np.nan]))
    assert strip == {"first": 2, "low": [1.0], "high": [2.0]}
    whole = profile.document()
    assert len(whole["low"]) == 10 / BIN_MM
    assert (whole["low"][33], whole["high"][33], whole["low"][34]) == (5.0, 5.0, None)
    profile.clear()
    assert set(profile.document()["high"]) == {None}


def test_readings_beyond_the_travel_are_in_no_bin() -> None:
    profile = LiveProfile((0.0, 10.0))
    assert profile.add(np.array([-0.1, 10.1]), np.array([1.0, 1.0])) is None
    assert set(profile.document()["low"]) == {None}
