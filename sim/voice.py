"""How a controller puts into bytes what it has to say, where it obeys the line protocol."""

from __future__ import annotations

from typing import Protocol

from numpy.random import Generator

from sim.faults import Faults
from sim.sampler import Samples


class Voice(Protocol):
    """bytes_a_sample: about how many. highest_rate_hz: what this one can be asked for."""

    @property
    def bytes_a_sample(self) -> int: ...

    @property
    def highest_rate_hz(self) -> int: ...

    def rare(self, line: bytes) -> bytes:
        """An answer or event, handed in as a frame of the line protocol."""

    def samples(
        self, samples: Samples, overrange_at: list[int], faults: Faults, rng: Generator
    ) -> bytes:
        """The samples as they leave a poor cable, with an event before each of those rows."""
