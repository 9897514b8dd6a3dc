"""The one thread that reads a port: it reads, stamps and hands on, and does nothing else."""

from __future__ import annotations

import threading
from collections import deque
from dataclasses import dataclass

from daq.acquire.clock import SteadyClock
from daq.errors import RigError
from daq.link.base import Link

MOST_WAITING_BYTES = 32 * 2**20
MOST_TAKEN_BYTES = 2**18


@dataclass(frozen=True, slots=True)
class Chunk:
    """Bytes that came in one read, and when, in nanoseconds of a steady wall clock."""

    t_ns: int
    data: bytes


class Reader:
    """Reads a link from the moment it is made until `close`.

    At most `most_waiting` bytes wait to be taken. When they are reached the reading stops,
    what waits can still be taken, and then `take` raises: bytes are never dropped unsaid.
    """

    def __init__(
        self, link: Link, clock: SteadyClock, most_waiting: int = MOST_WAITING_BYTES
    ) -> None:
        self._link = link
        self._clock = clock
        self._most_waiting = most_waiting
        self._chunks: deque[Chunk] = deque()
        self._waiting_bytes = 0
        self._fault: Exception | None = None
        self._closing = threading.Event()
        self._changed = threading.Condition()
        self._thread = threading.Thread(target=self._run, name="rig reader", daemon=True)
        self._thread.start()

    def take(self, wait_s: float) -> list[Chunk]:
        """What has come since, oldest first, about 256 KiB at most; [] after `wait_s` of nothing.

        Raises what ended the reading (RigError for a port's fault or a full queue), once all
        that came before it has been taken.
        """
        with self._changed:
            self._changed.wait_for(lambda: self._chunks or self._fault, wait_s)
            if self._chunks:
                return self._most_of_them()
            if self._fault:
                raise self._fault
            return []

    def close(self) -> None:
        """Ends the reading and waits for the thread to be gone."""
        self._closing.set()
        self._thread.join()

    def _most_of_them(self) -> list[Chunk]:
        taken: list[Chunk] = []
        size = 0
        while self._chunks and size < MOST_TAKEN_BYTES:
            taken.append(self._chunks.popleft())
            size += len(taken[-1].data)
        self._waiting_bytes -= size
        return taken

    def _run(self) -> None:
        try:
            while not self._closing.is_set():
                data = self._link.read()
                if data:
                    self._hand_on(Chunk(self._clock.now_ns(), data))
        except Exception as fault:  # whatever it is, it belongs to whoever takes
            with self._changed:
                self._fault = fault
                self._changed.notify_all()

    def _hand_on(self, chunk: Chunk) -> None:
        with self._changed:
            self._chunks.append(chunk)
            self._waiting_bytes += len(chunk.data)
            full = self._waiting_bytes > self._most_waiting
            self._changed.notify_all()
        if full:
            raise RigError(
                f"the rig sends faster than this machine can record: more than "
                f"{self._most_waiting:,} bytes were waiting and reading has stopped; end other "
                "programs or lower rate_hz in the rig file"
            )
