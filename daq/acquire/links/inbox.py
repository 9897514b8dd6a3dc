"""Where the reading threads put what came, and one thread takes it."""

from __future__ import annotations

import threading
import time
from collections import deque
from dataclasses import dataclass

from daq.errors import RigError

MOST_WAITING_BYTES = 32 * 2**20
MOST_TAKEN_BYTES = 2**18
MUCH_BYTES = 2**14
MOMENT_S = 0.0005
"""Where much comes at once more follows, and a frame of a large block costs a third to decode."""


@dataclass(frozen=True, slots=True)
class Chunk:
    """Bytes that came in one read of a link, and when, in nanoseconds of a steady wall clock."""

    t_ns: int
    data: bytes
    link: int = 0


@dataclass(frozen=True, slots=True)
class Ended:
    """The reading of a link has ended, and why: nothing more comes from it."""

    link: int
    fault: Exception


class Inbox:
    """The chunks of all links in the order they came.

    At most `most_waiting` bytes wait to be taken. Who puts more is told by a RigError, with what
    it put still in here: bytes are never dropped unsaid.
    """

    def __init__(self, most_waiting: int = MOST_WAITING_BYTES) -> None:
        self._most_waiting = most_waiting
        self._items: deque[Chunk | Ended] = deque()
        self._waiting_bytes = 0
        self._changed = threading.Condition()

    @property
    def waiting_bytes(self) -> int:
        """How many wait to be taken."""
        return self._waiting_bytes

    @property
    def is_empty(self) -> bool:
        """Whether nothing waits, not even that a link has ended."""
        return not self._items

    def _holds(self, size: int) -> bool:
        return self._waiting_bytes >= size or isinstance(self._items[-1], Ended)

    def put(self, chunk: Chunk) -> None:
        """Adds what came. Raises RigError once too much waits."""
        with self._changed:
            self._items.append(chunk)
            self._waiting_bytes += len(chunk.data)
            full = self._waiting_bytes > self._most_waiting
            # Whoever gathers is woken for the first and for much, not for every bit between.
            if len(self._items) == 1 or self._holds(MUCH_BYTES):
                self._changed.notify_all()
        if full:
            raise RigError(
                f"the rig sends faster than this machine can record: more than "
                f"{self._most_waiting:,} bytes were waiting and reading has stopped; end other "
                "programs or lower rate_hz in the rig file"
            )

    def end(self, ended: Ended) -> None:
        """Adds why nothing more comes of a link, behind all that came."""
        with self._changed:
            self._items.append(ended)
            self._changed.notify_all()

    def take(self, wait_s: float, gather_s: float = 0.0) -> list[Chunk | Ended]:
        """What has come, oldest first, about 256 KiB at most; [] after `wait_s` of nothing.

        gather_s: how long to let more come where it is little yet, but no longer than `wait_s` in
        all. A turn costs about the same whatever is in it, so whoever is in no hurry takes much,
        seldom.
        """
        until_s = time.monotonic() + wait_s
        with self._changed:
            if self._changed.wait_for(lambda: self._items, wait_s) and gather_s:
                left_s = min(gather_s, max(0.0, until_s - time.monotonic()))
                if self._changed.wait_for(lambda: self._holds(MUCH_BYTES), left_s):
                    self._changed.wait_for(lambda: self._holds(MOST_TAKEN_BYTES), MOMENT_S)
            taken: list[Chunk | Ended] = []
            size = 0
            while self._items and size < MOST_TAKEN_BYTES:
                taken.append(self._items.popleft())
                size += len(taken[-1].data) if isinstance(taken[-1], Chunk) else 0
            self._waiting_bytes -= size
            return taken
