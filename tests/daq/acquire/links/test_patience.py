"""When a wait is given up, without any waiting."""

from __future__ import annotations

import numpy as np
import pytest

from daq.acquire.links.device_time import DeviceTime, steps
from daq.acquire.links.looks_like import Said
from daq.acquire.links.patience import Patience
from daq.errors import RigError
from daq.wire.records import Batch, Event, SampleBlock

NOISE = Batch(SampleBlock.empty(), (), (), 1, b"?")


def block(t_us: list[int], seq: list[int] | None = None) -> SampleBlock:
    zeros = np.zeros(len(t_us), np.int32)
    numbers = np.arange(len(t_us)) if seq is None else seq
    return SampleBlock(
        np.array(numbers, np.uint32), np.array(t_us, np.uint32), zeros, zeros, zeros, zeros
    )


def good(t_s: float, from_s: float = 0.0) -> Batch:
    return Batch(block([int(from_s * 1e6), int(t_s * 1e6)]), (), (), 0, b"")


@pytest.fixture
def patience() -> Patience:
    return Patience(
        "the rig on /dev/fake", "answer a move", 3.0, 10.0, 100.0, Said("line", 115_200)
    )


def test_silence_is_counted_in_waits_that_brought_nothing(patience: Patience) -> None:
    for _ in range(29):
        patience.quiet(0.1)
    patience.heard(b"...", good(0.1), 1e9)
    patience.quiet(2.9)
    with pytest.raises(RigError) as caught:
        patience.quiet(0.2)
    assert str(caught.value) == (
        "the rig on /dev/fake did not answer a move: nothing came for 3 s; check that it is "
        "switched on, the cable, the port and the baud rate"
    )


def test_noise_is_named_with_its_first_bytes(patience: Patience) -> None:
    for second in range(1, 4):
        patience.heard(b"\xff\x00" * 100, NOISE, 100.0 + second)
    with pytest.raises(RigError) as caught:
        patience.heard(b"z" * 1741, NOISE, 103.5)
    assert str(caught.value).startswith(
        "the rig on /dev/fake sent 2,341 bytes, none of them a good frame, but what a wrong baud "
        "rate makes of bytes (first bytes b'\\xff"
    )
    assert "the rig file says protocol line at 115200 baud: try baud 500000" in str(caught.value)


def test_noise_and_then_silence_is_still_noise(patience: Patience) -> None:
    patience.heard(b"boot", NOISE, 100.1)
    with pytest.raises(RigError, match="sent 4 bytes, none of them a good frame"):
        patience.quiet(3.0)


def test_a_flood_of_noise_needs_no_time(patience: Patience) -> None:
    with pytest.raises(RigError, match="none of them a good frame"):
        patience.heard(b"\0" * (2**20 + 1), NOISE, 100.0)


def test_a_few_bytes_after_a_long_sleep_are_no_noise(patience: Patience) -> None:
    patience.heard(b"S,1,2", NOISE, 5000.0)
    patience.heard(b"good", good(0.1), 5000.1)
    patience.quiet(2.9)


def test_babble_needs_both_clocks(patience: Patience) -> None:
    patience.heard(b"fast", good(60.0), 100.9)
    patience.heard(b"slow", good(60.1, 60.0), 101.8)
    patience.heard(b"slow", good(60.2, 60.1), 102.7)
    with pytest.raises(RigError, match="goes on sending samples but did not answer a move in 60 s"):
        patience.heard(b"both", good(60.3, 60.2), 103.1)


def test_a_rig_whose_clock_stands_still_is_given_up_in_the_end(patience: Patience) -> None:
    for second in range(1, 101):
        patience.heard(b"still", good(0.0), 100.0 + second)
    with pytest.raises(RigError, match="goes on sending samples"):
        patience.heard(b"still", good(0.0), 200.5)


def test_an_afternoon_asleep_is_not_the_rigs_fault(patience: Patience) -> None:
    patience.heard(b"before", good(60.0), 100.1)
    patience.heard(b"after", good(60.1, 60.0), 20_000.0)
    assert patience.waited_s == pytest.approx(1.1)


def test_an_event_is_a_sign_of_life(patience: Patience) -> None:
    patience.quiet(2.9)
    event = Event(1, "overrange", "", 0)
    patience.heard(b"E", Batch(SampleBlock.empty(), (event,), (), 0, b""), 102.9)
    patience.quiet(2.9)


def test_device_time_goes_over_the_wrap_of_both_counters() -> None:
    seen = DeviceTime()
    seen.add(block([2**32 - 2500, 0], [2**32 - 1, 0]))
    seen.add(block([2500, 12_500], [1, 5]))
    assert seen.elapsed_s == pytest.approx(0.015)
    assert (seen.samples, seen.lost, seen.gaps) == (4, 3, 1)
    assert seen.rate_hz == pytest.approx(400.0)


def test_a_clock_that_starts_anew_counts_as_nothing() -> None:
    seen = DeviceTime()
    seen.add(block([1_000_000_000, 1_000_010_000], [900, 901]))
    seen.add(block([0, 10_000], [0, 1]))
    assert seen.lost == 0
    assert seen.elapsed_s == pytest.approx(0.02)


def test_steps_of_one_reading_are_none() -> None:
    assert steps(np.array([7], np.uint32), None).tolist() == []
    assert steps(np.array([7], np.uint32), 9).tolist() == [-2]
