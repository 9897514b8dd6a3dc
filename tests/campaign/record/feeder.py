"""A rig in a process of its own that does nothing but send, at an exact pace, what it has ready.

python feeder.py PROTOCOL RATE SAMPLES: prints its port's name, answers the greeting, sends
SAMPLES samples RATE a second once it is told to stream, says that it has arrived, and
waits for its input to end. Then it prints what it had sent when, as JSON:
[[monotonic seconds, samples so far], ...].
"""

from __future__ import annotations

import contextlib
import json
import os
import select
import sys
import time
import tty
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from daq.wire.binary import encode as binary
from daq.wire.line import encode as line

# behind all else: the program that is installed is the one that is tried
sys.path.append(str(Path(__file__).parents[3]))

from tests.campaign.record.lineframes import line_frames

EVERY_S = 0.001
FAR_COUNTS = 120_000
"""Where the carriage is at the end: a place every motor reaches in a pass over the whole rail."""
MOST_AHEAD = 200_000
"""So many samples are made before the stream starts; more of them at a time while it runs."""

Frames = tuple[bytes, NDArray[np.int64]]
"""Bytes, and how many bytes each sample's frame has."""


class Feeder:
    """One end of a pty, and what goes out of it."""

    def __init__(self, protocol: str, rate_hz: int, samples: int) -> None:
        self._is_binary = protocol == "binary"
        self._rate_hz = rate_hz
        self._samples = samples
        self._master, slave = os.openpty()
        tty.setraw(slave)
        os.set_blocking(self._master, False)
        self.port = os.ttyname(slave)
        os.close(slave)

    def run(self) -> list[list[float]]:
        """The greeting, the stream, and answers until the end of the input."""
        ready = [self._frames(*span) for span in self._spans()]
        while not _told_to_end() and b"G," not in self._answer():
            time.sleep(EVERY_S)
        log = self._send(ready)
        self._say(b"E,0,arrived")
        while not _told_to_end():
            self._answer()
            time.sleep(EVERY_S)
        return log

    def _spans(self) -> Iterator[tuple[int, int]]:
        for first in range(0, self._samples, MOST_AHEAD):
            yield first, min(first + MOST_AHEAD, self._samples)

    def _frames(self, first: int, end: int) -> Frames:
        n = np.arange(first, end)
        t_us = n * 1_000_000 // self._rate_hz % 2**32
        x = n * FAR_COUNTS // self._samples
        raw = (1500 + 400 * np.sin(n / 900)).astype(np.int64)
        if self._is_binary:
            frames = binary.samples(n, t_us, raw, x)
            return frames.tobytes(), np.full(n.size, frames.dtype.itemsize)
        return line_frames([n, t_us, x, np.full(n.size, -1250), raw])

    def _send(self, ready: list[Frames]) -> list[list[float]]:
        log: list[list[float]] = []
        before, began_s = 0, time.monotonic()
        for data, lengths in ready:
            ends = np.cumsum(lengths)
            at, view = 0, memoryview(data)
            while at < len(view) and not _told_to_end():
                time.sleep(EVERY_S)
                due = int((time.monotonic() - began_s) * self._rate_hz) - before
                until = int(ends[min(due, ends.size) - 1]) if due > 0 else 0
                at += self._write(view[at:until])
                whole = int(np.searchsorted(ends, at, "right"))
                log.append([time.monotonic(), before + whole])
                if not whole or ends[whole - 1] == at:  # an answer must not cut a frame in two
                    self._answer()
            before += ends.size
        return log

    def _write(self, data: memoryview) -> int:
        """As much as the port takes; the rest is due at the next turn."""
        written = 0
        with contextlib.suppress(BlockingIOError):
            while written < len(data):
                written += os.write(self._master, data[written:])
        return written

    def _answer(self) -> bytes:
        """Answers whatever has been asked; returns it."""
        try:
            heard = os.read(self._master, 4096)
        except OSError:  # nobody has the port open, or says anything
            return b""
        for command in heard.splitlines():
            letter = command[:1]
            self._say(b"H,1,feeder,%d" % self._rate_hz if letter == b"H" else b"A," + letter)
        return heard

    def _say(self, body: bytes) -> None:
        frame = binary.text(body) if self._is_binary else line.frame(body)
        sent = 0
        while sent < len(frame):
            sent += self._write(memoryview(frame)[sent:])


def _told_to_end() -> bool:
    return bool(select.select([sys.stdin], [], [], 0)[0])


if __name__ == "__main__":
    feeder = Feeder(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]))
    sys.stdout.write(f"{feeder.port}\n")
    sys.stdout.flush()
    sys.stdout.write(json.dumps(feeder.run()) + "\n")
