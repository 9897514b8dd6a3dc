"""A rig's bytes, and a pseudo-terminal that brings them as fast as they are read."""

from __future__ import annotations

import os
import subprocess
import tty
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np

from daq.wire.binary import encode as binary

from ..campaign.record.lineframes import line_frames

Columns = tuple[np.ndarray, ...]
START_SEQ, START_US = 20_000, 30_000_000


def columns(samples: int) -> Columns:
    """seq, t, x, y, raw of a carriage that goes along a neck at 10 kHz, half a minute after it
    was switched on."""
    number = np.arange(samples)
    rng = np.random.default_rng(1)
    raw = 3000.0 * np.sin(number / 300.0) + rng.normal(0.0, 3.0, samples)
    x = number // 3
    return (
        START_SEQ + number, START_US + 100 * number, x, np.zeros_like(x), raw.astype(np.int64),
    )  # fmt: skip


def line_bytes(samples: int) -> bytes:
    """Frames of the line protocol."""
    return line_frames(columns(samples))[0]


def binary_bytes(samples: int) -> bytes:
    """Frames of the binary protocol, with x."""
    seq, t_us, x, _, raw = columns(samples)
    return binary.samples(seq, t_us, raw, x).tobytes()


@contextmanager
def terminal() -> Iterator[tuple[int, int]]:
    """Both ends of a pseudo-terminal: where a rig writes, and the port that is read."""
    master, slave = os.openpty()
    tty.setraw(slave)
    try:
        yield master, slave
    finally:
        os.close(slave)
        os.close(master)


@contextmanager
def writing(file: Path, to: int) -> Iterator[None]:
    """A process that writes a file's bytes as fast as they are taken."""
    with subprocess.Popen(["cat", str(file)], stdout=to) as writer:
        try:
            yield
        finally:
            writer.kill()
