"""What a stream does wrong, told within a second: scripted samples and times, no waiting."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from daq.acquire.links.looks_like import Said
from daq.acquire.links.stream_fault import Changes, StreamFault
from daq.acquire.links.stream_watch import StreamWatch
from daq.wire.records import Batch, Event, SampleBlock

RATE_HZ = 400.0
EACH = 20
"""Samples a turn, of 50 ms."""
WRAP = 2**32


def batch(
    seq: list[int], t_us: list[int], *, bad: int = 0, events: tuple[Event, ...] = ()
) -> Batch:
    zeros = np.zeros(len(seq), np.int32)
    columns = np.array(seq, np.uint64).astype(np.uint32), np.array(t_us, np.uint64)
    block = SampleBlock(columns[0], columns[1].astype(np.uint32), zeros, zeros, zeros, zeros)
    return Batch(block, events, (), bad, b"")


NOTHING = batch([], [])


class Stream:
    """A rig as it should be, from shortly before both counters wrap; tests spoil it."""

    def __init__(self, watch: StreamWatch, host_each_s: float = 0.05) -> None:
        self.watch = watch
        self.now_s = 1000.0
        self.host_each_s = host_each_s
        self.seq, self.t_us = WRAP - 50, WRAP - 200_000
        self.began_s = 0.0
        self.said: tuple[StreamFault, ...] = ()

    def turn(self, one: Batch, data: bytes = b"?") -> tuple[StreamFault, ...]:
        self.now_s += self.host_each_s
        self.said = self.watch.turn(data, one, self.now_s)
        return self.said

    def next(self, count: int = EACH, period_us: float = 2500, step: int = 1) -> Batch:
        numbers = [(self.seq + step * n) % WRAP for n in range(1, count + 1)]
        times = [int(self.t_us + period_us * n) % WRAP for n in range(1, count + 1)]
        self.seq, self.t_us = numbers[-1], times[-1]
        return batch(numbers, times)

    def good(self, turns: int = 20) -> None:
        for _ in range(turns):
            assert self.turn(self.next()) == ()
        self.began_s = self.now_s

    def named(self, spoilt: Iterator[Batch] | list[Batch], data: bytes = b"?") -> StreamFault:
        """The first fault that these bring, and it comes within a second of the host's time."""
        for one in spoilt:
            if self.turn(one, data):
                assert self.now_s - self.began_s <= 1.0
                (fault,) = self.said
                return fault
        raise AssertionError("nothing was named")


def new_watch(*, has_clock: bool = True, rate_hz: float = RATE_HZ) -> StreamWatch:
    return StreamWatch("the rig on /dev/x", rate_hz, Said("line", 9600), has_clock=has_clock)


@pytest.fixture
def stream() -> Stream:
    made = Stream(new_watch())
    made.good()
    return made


def test_a_good_stream_is_good_over_the_wrap_of_its_counters(stream: Stream) -> None:
    stream.good(200)


@pytest.mark.parametrize("host_each_s", [0.0005, 5.0])
def test_faster_than_real_time_or_slower_is_no_fault(host_each_s: float) -> None:
    Stream(new_watch(), host_each_s).good(500)


def test_a_process_that_slept_did_not_listen(stream: Stream) -> None:
    stream.now_s += 3600.0
    assert stream.turn(NOTHING, b"") == ()
    stream.good()


def test_silence(stream: Stream) -> None:
    fault = stream.named(iter(lambda: NOTHING, None), b"")
    assert (fault.kind, fault.ends_pass) == ("silent", False)
    assert fault.text == (
        "the rig on /dev/x has gone silent: check that it is switched on, and the cable"
    )
    assert stream.now_s - stream.began_s >= 0.8 - 1e-9
    assert stream.turn(stream.next()) == ()


def test_a_slow_sensor_is_not_silent_between_its_samples() -> None:
    stream = Stream(new_watch(rate_hz=1.0))
    for n in range(10):
        assert stream.turn(batch([n], [n * 1_000_000])) == ()
        for _ in range(19):
            assert stream.turn(NOTHING, b"") == ()


def test_bytes_that_are_no_frames(stream: Stream) -> None:
    fault = stream.named(iter(lambda: batch([], [], bad=3), None), b"+1.234 mm\r\n" * 5)
    assert fault.kind == "noise"
    assert "sends bytes that are no frames: printed numbers" in fault.text
    assert "set protocol: printed" in fault.text


@pytest.mark.parametrize(
    ("word", "kind", "says"),
    [("reset", "reset", "reset itself"), ("stalled", "stalled", "the carriage stalled")],
)
def test_what_the_rig_says_itself(stream: Stream, word: str, kind: str, says: str) -> None:
    fault = stream.named([batch([], [], events=(Event(1, word, "", 0),))])
    assert (fault.kind, fault.ends_pass) == (kind, True)
    assert says in fault.text
    assert stream.turn(stream.next()) == (fault,)


def test_a_reset_without_a_word(stream: Stream) -> None:
    fault = stream.named([batch([0, 1, 2], [1_203_000, 1_205_500, 1_208_000])])
    assert (fault.kind, fault.ends_pass) == ("reset", True)
    assert "started anew and lost its place" in fault.text


def test_a_clock_that_stands_still(stream: Stream) -> None:
    fault = stream.named(stream.next(period_us=0) for _ in range(20))
    assert (fault.kind, fault.ends_pass) == ("stuck", True)
    assert "sends samples while its clock stands still" in fault.text
    assert stream.turn(stream.next()) == ()


def test_arrival_times_are_no_clock_that_could_stand_still() -> None:
    stream = Stream(new_watch(has_clock=False))
    stream.good()
    for _ in range(5):
        assert stream.turn(stream.next(period_us=0)) == ()


def test_the_same_sample_again_and_again(stream: Stream) -> None:
    fault = stream.named(stream.next(period_us=0, step=0) for _ in range(20))
    assert (fault.kind, fault.ends_pass) == ("repeats", True)
    assert "one and the same sample" in fault.text


def test_the_same_number_again_and_again(stream: Stream) -> None:
    fault = stream.named(stream.next(step=0) for _ in range(20))
    assert (fault.kind, "the same number" in fault.text) == ("repeats", True)


def test_a_block_that_is_sent_again(stream: Stream) -> None:
    again = stream.next()
    assert stream.turn(again) == ()
    fault = stream.named([again])
    assert (fault.kind, "again what it had sent before" in fault.text) == ("repeats", True)


def test_each_sample_twice(stream: Stream) -> None:
    def twice() -> Iterator[Batch]:
        while True:
            one = stream.next(10).samples
            yield batch(np.repeat(one.seq, 2).tolist(), np.repeat(one.t_us, 2).tolist())

    fault = stream.named(twice())
    assert (fault.kind, "samples twice" in fault.text) == ("repeats", True)


def test_a_flood_by_its_own_clock(stream: Stream) -> None:
    fault = stream.named(stream.next(400, period_us=125) for _ in range(20))
    assert (fault.kind, fault.ends_pass) == ("flood", False)
    assert "where 400 Hz were asked for; switch it off and on" in fault.text
    stream.turn(stream.next(400, period_us=125))
    assert "floods: 8000.0 Hz where" in stream.said[0].text


def test_off_its_rate_and_back(stream: Stream) -> None:
    fault = stream.named(stream.next(period_us=2600) for _ in range(20))
    assert fault.kind == "rate"
    for _ in range(10):
        stream.turn(stream.next(period_us=2600))
    assert "is off its rate: 384.6 Hz where 400 Hz were asked for" in stream.said[0].text
    for _ in range(20):
        stream.turn(stream.next())
    assert stream.said == ()


def test_rates_told_by_arrivals_may_be_rough() -> None:
    stream = Stream(new_watch(has_clock=False))
    for period_us in (2300, 2800, 2200, 2900) * 10:
        assert stream.turn(stream.next(period_us=period_us)) == ()


def test_damage(stream: Stream) -> None:
    def damaged() -> Iterator[Batch]:
        while True:
            one = stream.next().samples
            yield batch(one.seq[2:].tolist(), one.t_us[2:].tolist(), bad=2)

    fault = stream.named(damaged())
    assert (fault.kind, fault.ends_pass) == ("damaged", False)
    assert "frames of the rig on /dev/x were lost or damaged; shorten the cable" in fault.text


def test_a_few_damaged_frames_are_none(stream: Stream) -> None:
    for _ in range(100):
        one = stream.next().samples
        assert stream.turn(batch(one.seq[:-1].tolist(), one.t_us[:-1].tolist())) == ()
        stream.good(4)


def test_events_without_end_and_without_samples(stream: Stream) -> None:
    many = tuple(Event(n, "overrange", "", 0) for n in range(10))
    fault = stream.named(batch([], [], events=many) for _ in range(20))
    assert fault.kind == "events"
    assert "sends event after event (overrange) and no sample" in fault.text


def test_events_without_end_among_samples(stream: Stream) -> None:
    many = tuple(Event(n, "overrange", "", 0) for n in range(20))

    def noisy() -> Iterator[Batch]:
        while True:
            one = stream.next().samples
            yield batch(one.seq.tolist(), one.t_us.tolist(), events=many)

    assert stream.named(noisy()).kind == "events"


def test_a_string_of_gaps_under_an_optical_sensor_is_no_flood(stream: Stream) -> None:
    for _ in range(40):
        one = stream.next().samples
        over = (Event(1, "overrange", "", 0),)
        assert stream.turn(batch(one.seq.tolist(), one.t_us.tolist(), events=over)) == ()


def test_what_began_and_what_is_over() -> None:
    first, second = (StreamFault(kind, kind) for kind in ("silent", "rate"))
    changes = Changes()
    assert changes.of(0, ()) == ((), ())
    assert changes.of(0, (first,)) == ((first,), ())
    assert changes.of(1, (first,)) == ((first,), ())
    assert changes.of(0, (StreamFault("silent", "still"), second)) == ((second,), ())
    assert changes.of(0, (second,)) == ((), (first,))
    assert list(changes.present) == [(1, "silent"), (0, "rate")]
