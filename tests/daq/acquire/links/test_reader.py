"""The reading thread: order, stamps, the bound, and faults that travel."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import Any

import pytest

from daq.acquire.links.clock import SteadyClock
from daq.acquire.links.inbox import Chunk, Ended, Inbox
from daq.acquire.links.reader import Reader
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


def read_all(inbox: Inbox, size: int) -> bytes:
    data = b""
    while len(data) < size:
        data += b"".join(item.data for item in inbox.take(5.0) if isinstance(item, Chunk))
    return data


def test_bytes_come_in_order_with_stamps_that_do_not_run_backwards() -> None:
    pieces = [bytes([n]) * (n + 1) for n in range(50)]
    inbox = Inbox()
    reader = Reader(Feed(pieces), SteadyClock(), inbox)
    chunks: list[Any] = []
    while sum(len(chunk.data) for chunk in chunks) < sum(map(len, pieces)):
        chunks += inbox.take(5.0)
    reader.close()
    assert [chunk.data for chunk in chunks] == pieces
    stamps = [chunk.t_ns for chunk in chunks]
    assert stamps == sorted(stamps)
    assert abs(stamps[-1] - time.time_ns()) < 60e9


def test_nothing_within_the_wait_is_an_empty_list() -> None:
    inbox = Inbox()
    reader = Reader(Feed([]), SteadyClock(), inbox)
    assert inbox.take(0.001) == []
    reader.close()


def test_one_take_is_bounded_and_loses_nothing() -> None:
    feed = Feed([b"a" * 60_000] * 20)
    inbox = Inbox()
    reader = Reader(feed, SteadyClock(), inbox)
    assert feed.emptied.wait(5.0)
    first = sum(len(item.data) for item in inbox.take(5.0) if isinstance(item, Chunk))
    assert 2**18 <= first < 2**18 + 60_000
    rest = read_all(inbox, 1_200_000 - first)
    reader.close()
    assert rest == b"a" * len(rest)


@pytest.mark.parametrize("last", [Chunk(2, b"a" * 20_000), Ended(0, EOFError())])
def test_who_gathers_waits_no_longer_once_much_is_there_or_no_more_can_come(
    last: Chunk | Ended,
) -> None:
    inbox = Inbox()
    inbox.put(Chunk(1, b"a"))
    put = inbox.put if isinstance(last, Chunk) else inbox.end
    timer = threading.Timer(0.05, put, (last,))
    timer.start()
    began_s = time.monotonic()
    assert inbox.take(60.0, 60.0) == [Chunk(1, b"a"), last]
    assert time.monotonic() - began_s < 30.0
    timer.join()


def test_a_full_inbox_stops_the_reading_and_says_so_after_what_it_holds() -> None:
    inbox = Inbox(most_waiting=1000)
    reader = Reader(Feed([b"x" * 100] * 30), SteadyClock(), inbox)
    reader._thread.join(5.0)
    *chunks, ended = inbox.take(5.0)
    assert b"".join(item.data for item in chunks if isinstance(item, Chunk)) == b"x" * 1100
    assert isinstance(ended, Ended)
    assert "faster than this machine can record" in str(ended.fault)
    assert inbox.take(0.001) == []
    reader.close()


def test_a_fault_of_the_port_comes_after_the_bytes_before_it() -> None:
    inbox = Inbox()
    fault = RigError("the cable came loose")
    reader = Reader(Feed([b"last words"], fault), SteadyClock(), inbox, 1)
    reader._thread.join(5.0)
    chunk, ended = inbox.take(5.0)
    assert isinstance(chunk, Chunk)
    assert (chunk.data, chunk.link) == (b"last words", 1)
    assert ended == Ended(1, fault)
    reader.close()


def test_two_readers_share_an_inbox_and_each_keeps_its_order() -> None:
    inbox, clock = Inbox(), SteadyClock()
    feeds = [Feed([b"%d%d" % (link, n) for n in range(9)]) for link in (0, 1)]
    readers = [Reader(feed, clock, inbox, link) for link, feed in enumerate(feeds)]
    assert all(feed.emptied.wait(5.0) for feed in feeds)
    chunks = [item for item in inbox.take(5.0) if isinstance(item, Chunk)]
    for link in (0, 1):
        mine = [chunk.data for chunk in chunks if chunk.link == link]
        assert mine == [b"%d%d" % (link, n) for n in range(9)]
    for reader in readers:
        reader.close()


@pytest.mark.parametrize("fault", [None, RigError("gone")])
def test_close_leaves_no_thread(fault: Exception | None) -> None:
    reader = Reader(Feed([], fault), SteadyClock(), Inbox())
    reader.close()
    assert not reader._thread.is_alive()


def test_a_steady_clock_does_not_follow_the_date(monkeypatch: pytest.MonkeyPatch) -> None:
    clock = SteadyClock()
    before = clock.now_ns()
    a_year_ago: Callable[[], int] = lambda: 0  # noqa: E731
    monkeypatch.setattr(time, "time_ns", a_year_ago)
    assert 0 <= clock.now_ns() - before < 60e9
