"""A sensor that prints: a line a reading, evenly, from power-on to power-off, whoever reads.

It is told nothing. Its rate is what its manual says but for an oscillator that is no crystal.
"""

from __future__ import annotations

import numpy as np

from sim.cable import spoil
from sim.clock import Counters
from sim.controller import Controller, Flood, Speaker, Trouble, World
from sim.instrument import FloatArray
from sim.limits import Refusal
from sim.part import Part
from sim.rigspec import RigSpec
from sim.sampler import Sampler, Samples

DECIMALS = 3
NO_READING = "----"
PATTERN = "D {value} mm"
BYTES_A_LINE = 14
SLOW = 2e-3
"""Which share of its rate it lacks. Common practice, no source."""


class Printer:
    """From power-on at the world's now_s."""

    def __init__(self, world: World, part: Part) -> None:
        bench = world.bench
        self.part = part
        self._faults = bench.faults
        self._rng = np.random.default_rng([bench.scenario.seed, 12, world.epoch])
        counters = Counters(bench.scenario.seed + world.epoch)
        self._sampler = Sampler(bench, part, world.carriage, counters, self._rng)
        self._on_s = self._now_s = world.now_s
        self._period_s = (1.0 + SLOW) / bench.spec.rate_hz
        self._printed = 0
        self._is_read = False
        self._repeats = False
        self._again = b""

    @property
    def moving(self) -> bool:
        return False

    @property
    def streaming(self) -> bool:
        return True

    @property
    def now_s(self) -> float:
        return self._now_s

    def feed(self, data: bytes) -> None:
        """It has no ear."""

    def produce(self, max_bytes: int, until_s: float | None = None) -> bytes:
        """The lines that are due; what it printed while nobody read is lost."""
        until_s = self._now_s if until_s is None else until_s
        due = int((until_s - self._on_s) / self._period_s)
        if not self._is_read:
            self._is_read, self._printed = True, due
        count = min(due - self._printed, max(max_bytes // BYTES_A_LINE, 1))
        numbers = self._printed + 1.0 + np.arange(count)
        self._printed += count
        self._now_s = max(self._now_s, until_s)
        return self._lines(np.asarray(self._on_s + numbers * self._period_s))

    def stall(self) -> None:
        raise Refusal("a sensor moves nothing")

    def push(self, to_mm: float, seconds: float, y_mm: float) -> None:
        raise Refusal("a sensor moves nothing")

    def hang_up(self) -> None:
        self._is_read = False

    def trouble(self, kind: Trouble, on: bool) -> None:
        if kind != "repeat":
            raise Refusal("a sensor that prints has no clock")
        self._repeats, self._again = on, b""

    def surplus(self, kind: Flood, max_bytes: int) -> bytes:
        if kind != "samples":
            raise Refusal("a sensor that prints has no events")
        return self._lines(np.full(max(max_bytes // BYTES_A_LINE, 1), self._now_s))

    def _lines(self, t_s: FloatArray) -> bytes:
        if not len(t_s):
            return b""
        lines = printed(self._sampler.take(t_s))
        if self._repeats:
            self._again = self._again or lines[0]
            lines = [self._again] * len(lines)
        return b"".join(spoil(lines, self._faults, self._rng))


def printed(samples: Samples) -> list[bytes]:
    """A line each: the counts with a point in them, or what stands for no reading."""
    raw = samples.cells()[4]
    texts = (NO_READING if count is None else _with_point(count) for count in raw)
    return [PATTERN.replace("{value}", text).encode("ascii") + b"\n" for text in texts]


def _with_point(count: int) -> str:
    whole, part = divmod(abs(count), 10**DECIMALS)
    return f"{'-' if count < 0 else '+'}{whole}.{part:0{DECIMALS}}"


def _make(world: World, part: Part) -> Controller:
    return Printer(world, part)


def _settings(spec: RigSpec) -> str:
    return f'printed: {{pattern: "{PATTERN}", decimals: {DECIMALS}, invalid: ["{NO_READING}"]}}'


PRINTED = Speaker(_make, ("sensor",), real_time=True, settings=_settings)
