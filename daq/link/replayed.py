"""A recording in place of a port: its bytes at the pace they came, over and over."""

from __future__ import annotations

import threading
import time
from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from daq.link.base import Link

WAIT_S = 0.02
MOST_BYTES = 65536


@dataclass(frozen=True, slots=True)
class Heard:
    """What a recorded device is told. letter: of the command; answer: what it says to it."""

    letter: str
    answer: bytes


Ear = Callable[[bytes], Sequence[Heard]]
"""Bytes as they are sent to a device to the commands in them, with its answers."""


class Tape:
    """What one link sent, in the order it came, and how long once through takes.

    chunks: (seconds from the beginning, bytes), in order, at least one. length_s: after which it
    begins again; the same for both links of a rig, whose tapes must not drift apart.
    """

    def __init__(self, chunks: Sequence[tuple[float, bytes]], length_s: float) -> None:
        self.length_s = length_s
        self._at_s = [at_s for at_s, _ in chunks]
        self._data = [data for _, data in chunks]

    def between(self, from_s: float, to_s: float) -> bytes:
        """What comes after from_s, up to to_s: seconds since it first began."""
        count = len(self._at_s)
        first, last = self._passed(from_s), self._passed(to_s)
        return b"".join(self._data[at % count] for at in range(first, last))

    def _passed(self, at_s: float) -> int:
        """How many chunks have come by then, all rounds counted."""
        rounds, within_s = divmod(at_s, self.length_s)
        return int(rounds) * len(self._at_s) + bisect_right(self._at_s, within_s)


class ReplayedLink(Link):
    """A port with a recorded device behind it, which cannot be moved.

    began_s: of the tape, on the monotonic clock. ear: None for a device that is told nothing and
    sends by itself; else it sends from G to X.
    """

    def __init__(self, tape: Tape, began_s: float, ear: Ear | None) -> None:
        self._tape = tape
        self._began_s = began_s
        self._ear = ear
        self._streams = ear is None
        self._upto_s = self._now_s()
        self._answers = b""
        self._changed = threading.Condition()
        self._closed = False

    def read(self) -> bytes:
        """What has come by now."""
        with self._changed:
            self._changed.wait_for(lambda: self._answers or self._closed, WAIT_S)
            answers, self._answers = self._answers, b""
            if not self._streams:
                return answers
            now_s = self._now_s()
            data = self._tape.between(self._upto_s, now_s)
            self._upto_s = now_s
        return answers + data

    def write(self, data: bytes) -> None:
        """The device hears it, and answers."""
        if self._ear is None:
            return
        with self._changed:
            for heard in self._ear(data):
                self._answers += heard.answer
                if heard.letter in "GX":
                    self._streams = heard.letter == "G"
                    self._upto_s = self._now_s()
            self._changed.notify_all()

    def close(self) -> None:
        """Nobody listens any more."""
        with self._changed:
            self._closed = True
            self._changed.notify_all()

    def _now_s(self) -> float:
        return time.monotonic() - self._began_s
