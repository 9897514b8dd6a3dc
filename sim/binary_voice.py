"""Samples, answers and events as binary frames: no step that is taken sample by sample."""

from __future__ import annotations

import numpy as np
from numpy.random import Generator

from daq.wire.binary import encode
from daq.wire.line import encode as lines
from sim.cable import happens
from sim.faults import Faults
from sim.part import Part
from sim.sampler import Samples


class BinaryVoice:
    """A controller that counts sends x, and y where it has it; one that only reads neither."""

    highest_rate_hz = 100_000

    def __init__(self, part: Part) -> None:
        self._counts = part.drives
        self.bytes_a_sample = 25 if part.drives else 17

    def rare(self, line: bytes) -> bytes:
        """The line's body in a text frame."""
        return encode.text(line.rpartition(b"*")[0])

    def samples(
        self, samples: Samples, overrange_at: list[int], faults: Faults, rng: Generator
    ) -> bytes:
        """Spoilt frames, with an event before the first sample of each run out of range."""
        x, y = (samples.x, samples.y) if self._counts else (None, None)
        read = np.full(len(samples), encode.NO_READING) if samples.raw is None else samples.raw
        raw = np.where(samples.valid, read, encode.NO_READING)
        frames = encode.samples(samples.seq, samples.t_us, raw, x, y, samples.temp)
        data, size = frames.tobytes(), frames.itemsize
        spoilt = np.flatnonzero(happens(faults.bad_frame_one_in, len(samples), rng)).tolist()
        if not spoilt and not overrange_at:
            return data
        out, done, events = [], 0, set(overrange_at)
        for row in sorted(events.union(spoilt)):
            out.append(data[done * size : row * size])
            if row in events:
                out.append(self.rare(lines.event(int(samples.t_us[row]), "overrange")))
            frame = data[row * size : (row + 1) * size]
            may_end = row < len(samples) - 1
            out.append(_spoilt(frame, may_end, rng) if row in spoilt else frame)
            done = row + 1
        return b"".join([*out, data[done * size :]])


def _spoilt(frame: bytes, may_end: bool, rng: Generator) -> bytes:
    """Lost, cut short or with one bit wrong. A block's last frame is not cut short: what follows
    could be some time in coming, and until then it could still become one."""
    if rng.random() < 0.5:
        return b""
    at = int(rng.integers(1, len(frame)))
    if may_end and rng.random() < 0.5:
        return frame[:at]
    return frame[:at] + bytes([frame[at] ^ (1 << int(rng.integers(0, 8)))]) + frame[at + 1 :]
