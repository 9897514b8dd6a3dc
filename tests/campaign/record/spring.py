"""A rig inside the process that sends and sends: at a pace, or as fast as it is taken."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

import numpy as np

from daq.wire.line import encode

from .lineframes import line_frames

AT_ONCE = 4096
IDLE_S = 0.002


class Spring:
    """A link with a device behind it that speaks the line protocol and never moves.

    rate_hz: by its own clock. paced: in real time; else as fast as `room` lets it. room: whether
    more may come.
    """

    def __init__(self, name: str, rate_hz: int, *, paced: bool, room: Callable[[], bool]) -> None:
        self._name = name
        self._rate_hz = rate_hz
        self._paced = paced
        self._room = room
        self._changed = threading.Lock()
        self._owed = b""
        self._began_s: float | None = None
        self.sent = 0
        self.given = bytearray()
        self.longest_away_s = 0.0
        self._left_s = time.monotonic()

    def read(self) -> bytes:
        """What has come. How long the reader was away in between is remembered."""
        self.longest_away_s = max(self.longest_away_s, time.monotonic() - self._left_s)
        time.sleep(0.0 if self._is_behind() else IDLE_S)
        with self._changed:
            owed, self._owed = self._owed, b""
            data = owed + self._samples()
        if self._paced:
            self.given += data
        self._left_s = time.monotonic()
        return data

    def write(self, data: bytes) -> None:
        """Answers each command."""
        with self._changed:
            for command in data.splitlines():
                letter = command[:1].decode()
                if letter == "G":
                    self._began_s = time.monotonic()
                if letter == "X":
                    self._began_s = None
                self._owed += (
                    encode.hello_reply(self._name, self._rate_hz)
                    if letter == "H"
                    else encode.accept(letter)
                )

    def close(self) -> None:
        """Nothing to let go."""

    def _is_behind(self) -> bool:
        return self._began_s is not None and not self._paced and self._room()

    def _samples(self) -> bytes:
        if self._began_s is None or not self._room():
            return b""
        count = AT_ONCE
        if self._paced:
            due = int((time.monotonic() - self._began_s) * self._rate_hz)
            count = min(max(due - self.sent, 0), AT_ONCE)
        if not count:
            return b""
        n = np.arange(self.sent, self.sent + count)
        self.sent += count
        t_us = n * 1_000_000 // self._rate_hz % 2**32
        return line_frames([n % 2**32, t_us, 800 + n % 1000, -n % 50, 1500 + n % 7])[0]
