"""Samples: positions, readings and counters of a block of times, as columns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from sim.bench import Bench
from sim.carriage import Carriage
from sim.clock import Counters
from sim.drift import thermometer_counts
from sim.instrument import FloatArray
from sim.part import Part
from sim.sensor import Sensor

Cells = Sequence[int | None]
Counts = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Samples:
    """int64[n] each, in counts; y, raw and temp are None where this controller has none.

    valid: bool[n], where raw is a reading.
    """

    seq: Counts
    t_us: Counts
    x: Counts
    y: Counts | None
    raw: Counts | None
    temp: Counts | None
    valid: NDArray[np.bool_]

    def __len__(self) -> int:
        return int(self.seq.size)

    def cells(self) -> tuple[Cells, ...]:
        """seq, t, x, y, raw and temp in lists, None for an empty cell."""
        empty: list[int | None] = [None] * len(self)
        raw: list[int | None] = empty if self.raw is None else self.raw.tolist()
        for index in np.flatnonzero(~self.valid).tolist():
            raw[index] = None
        y, temp = (empty if cells is None else cells.tolist() for cells in (self.y, self.temp))
        return self.seq.tolist(), self.t_us.tolist(), self.x.tolist(), y, raw, temp

    def repeated(self, row: int, count: int) -> Samples:
        """One of them, again and again."""
        columns = {each.name: getattr(self, each.name) for each in fields(self)}
        again = {
            name: np.repeat(column[row], count)
            for name, column in columns.items()
            if column is not None
        }
        return replace(self, **again)


class Sampler:
    """Reads the world for one controller; t_s never goes back from block to block."""

    def __init__(
        self, bench: Bench, part: Part, carriage: Carriage, counters: Counters, rng: Generator
    ) -> None:
        self._bench = bench
        self._part = part
        self._carriage = carriage
        self._counters = counters
        self._rng = rng
        self._sensor = Sensor(bench.spec, bench.faults, bench.climate, bench.plunger, rng)

    def take(self, t_s: FloatArray) -> Samples:
        """The samples at these device times."""
        raw, valid = self._readings(t_s)
        x, y = self._positions(t_s)
        return Samples(
            self._counters.take(len(t_s)),
            self._counters.many_t_us(t_s),
            x,
            y,
            raw,
            self._temperatures(t_s),
            valid,
        )

    def _positions(self, t_s: FloatArray) -> tuple[Counts, Counts | None]:
        if not self._part.drives:
            return np.zeros(len(t_s), np.int64), None
        x, y = (axis.astype(np.int64) for axis in self._carriage.counts(t_s))
        # A hand-driven rig has no cross slide to count.
        return x, None if self._part.by_hand else y

    def _readings(self, t_s: FloatArray) -> tuple[Counts | None, NDArray[np.bool_]]:
        """A carriage alone has none, and is never out of range."""
        if not self._part.reads:
            return None, np.ones(len(t_s), dtype=bool)
        seen_s = t_s - self._sensor.lag_s
        x_mm, y_mm = self._carriage.true_mm(seen_s)
        line = self._carriage.line_from(float(seen_s[0]))
        surface_mm = self._bench.trace(line).read_mm(x_mm, y_mm)
        height_mm = surface_mm + self._bench.rail.error_mm(x_mm, y_mm)
        raw, valid = self._sensor.counts(t_s, height_mm)
        return raw.astype(np.int64), valid

    def _temperatures(self, t_s: FloatArray) -> Counts | None:
        if not (self._bench.faults.thermometer and self._part.reads):
            return None
        return thermometer_counts(self._bench.climate.celsius(t_s), self._rng)
