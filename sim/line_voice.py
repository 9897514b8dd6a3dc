"""Samples, answers and events as lines of text."""

from __future__ import annotations

from numpy.random import Generator

from daq.wire.line import encode
from sim.cable import spoil
from sim.faults import Faults
from sim.sampler import Samples


class LineVoice:
    """One line of bytes a sample."""

    bytes_a_sample = 46
    highest_rate_hz = 10_000

    def rare(self, line: bytes) -> bytes:
        """As it is."""
        return line

    def samples(
        self, samples: Samples, overrange_at: list[int], faults: Faults, rng: Generator
    ) -> bytes:
        """Spoilt lines, with an event before the first sample of each run out of range."""
        lines = spoil(encode.samples(*samples.cells()), faults, rng)
        for index in overrange_at:
            # After a line that lost its end the event would be lost with it.
            ended = index == 0 or lines[index - 1].endswith(b"\n") or not lines[index - 1]
            lost = b"" if ended else b"\n"
            event = encode.event(int(samples.t_us[index]), "overrange")
            lines[index] = lost + event + lines[index]
        return b"".join(lines)
