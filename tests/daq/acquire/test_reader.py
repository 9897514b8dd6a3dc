"""The reading thread: order, stamps, the bound, and faults that travel."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

import pytest

from daq.acquire.clock import SteadyClock
from daq.acquire.reader import Reader
from daq.errors import RigError


class Feed:
    """Gives what it is told to, one piece a read, then waits to be told more or fails."""

    def __init__(self, pieces: list[bytes], fault: Exception | None = None) -> None:
        self._pieces = list(pieces)
        self._fault = fault
        self.emptied = threading.Event()

    def read(self) -> bytes:
        if self._pieces:
            return self._pieces.pop(0)
        self.emptied.set()
        if self._fault:
            raise self._fault
        time.sleep(0)
        return b""

    def write(self, data: bytes) -> None:
        raise AssertionError("a reader does not write")

    def close(self) -> None:
        raise AssertionError("a reader does not close")


def read_all(reader: Reader, size: int) -> bytes:
    data = b""
    while len(data) < size:
        data += b"".join(chunk.data for chunk in reader.take(5.0))
    return data


def test_bytes_come_in_order_with_stamps_that_do_not_run_backwards() -> None:
    pieces = [bytes([n]) * (n + 1) for n in range(50)]
    reader = Reader(Feed(pieces), SteadyClock())
    chunks = []
    while sum(len(chunk.data) for chunk in chunks) < sum(map(len, pieces)):
        chunks += reader.take(5.0)
    reader.close()
    assert [chunk.data for chunk in chunks] == pieces
    stamps = [chunk.t_ns for chunk in chunks]
    assert stamps == sorted(stamps)
    assert abs(stamps[-1] - time.time_ns()) < 60e9


def test_nothing_within_the_wait_is_an_empty_list() -> None:
    reader = Reader(Feed([]), SteadyClock())
    assert reader.take(0.001) == []
    reader.close()


def test_one_take_is_bounded_and_loses_nothing() -> None:
    feed = Feed([b"a" * 60_000] * 20)
    reader = Reader(feed, SteadyClock())
    assert feed.emptied.wait(5.0)
    first = reader.take(5.0)
    assert 2**18 <= sum(len(chunk.data) for chunk in first) < 2**18 + 60_000
    rest = read_all(reader, 1_200_000 - sum(len(chunk.data) for chunk in first))
    reader.close()
    assert rest == b"a" * len(rest)


def test_a_full_queue_stops_the_reading_and_says_so_after_what_it_holds() -> None:
    pieces = [b"x" * 100] * 30
    reader = Reader(Feed(pieces), SteadyClock(), most_waiting=1000)
    reader._thread.join(5.0)
    assert read_all(reader, 1100) == b"x" * 1100
    for _ in range(2):
        with pytest.raises(RigError, match="faster than this machine can record"):
            reader.take(5.0)
    reader.close()


def test_a_fault_of_the_port_comes_after_the_bytes_before_it() -> None:
    reader = Reader(Feed([b"last words"], RigError("the cable came loose")), SteadyClock())
    assert read_all(reader, 10) == b"last words"
    with pytest.raises(RigError, match="the cable came loose"):
        reader.take(5.0)
    reader.close()


@pytest.mark.parametrize("fault", [None, RigError("gone")])
def test_close_leaves_no_thread(fault: Exception | None) -> None:
    reader = Reader(Feed([], fault), SteadyClock())
    reader.close()
    assert not reader._thread.is_alive()


def test_a_steady_clock_does_not_follow_the_date(monkeypatch: pytest.MonkeyPatch) -> None:
    clock = SteadyClock()
    before = clock.now_ns()
    a_year_ago: Callable[[], int] = lambda: 0  # noqa: E731
    monkeypatch.setattr(time, "time_ns", a_year_ago)
    assert 0 <= clock.now_ns() - before < 60e9
