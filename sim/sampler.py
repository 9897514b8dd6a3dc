"""Samples as lines: positions, readings and counters of a block of times, then the cable."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from daq.wire.line import encode
from sim.bench import Bench
from sim.cable import spoil
from sim.carriage import Carriage
from sim.clock import Counters
from sim.drift import thermometer_counts
from sim.instrument import FloatArray
from sim.part import Part
from sim.sensor import Sensor

Cells = Sequence[int | None]


class Sampler:
    """Everything is an array until the last step: one line of bytes a sample."""

    def __init__(
        self, bench: Bench, part: Part, carriage: Carriage, counters: Counters, rng: Generator
    ) -> None:
        self._bench = bench
        self._part = part
        self._carriage = carriage
        self._counters = counters
        self._rng = rng
        self._sensor = Sensor(bench.spec, bench.faults, bench.climate, bench.plunger, rng)
        self._was_valid = True

    def lines(self, t_s: FloatArray) -> bytes:
        """The samples at these device times, with the events a sensor makes among them."""
        raw, valid = self._raw_cells(t_s)
        x, y = self._position_cells(t_s)
        t_us = self._counters.many_t_us(t_s)
        seq = self._counters.take(len(t_us))
        lines = list(map(encode.sample, seq, t_us, x, y, raw, self._temperatures(t_s)))
        return self._sent(lines, t_us, valid)

    def _position_cells(self, t_s: FloatArray) -> tuple[list[int], Cells]:
        if not self._part.drives:
            return [0] * len(t_s), [None] * len(t_s)
        x, y = (axis.astype(np.int64).tolist() for axis in self._carriage.counts(t_s))
        # A hand-driven rig has no cross slide to count.
        return x, [None] * len(t_s) if self._part.by_hand else y

    def _raw_cells(self, t_s: FloatArray) -> tuple[Cells, NDArray[np.bool_]]:
        """Empty where there is no valid reading, with bool[n]; a carriage alone has none."""
        if not self._part.reads:
            return [None] * len(t_s), np.ones(len(t_s), dtype=bool)
        raw, valid = self._read(t_s)
        cells: list[int | None] = raw.astype(np.int64).tolist()
        for index in np.flatnonzero(~valid).tolist():
            cells[index] = None
        return cells, valid

    def _read(self, t_s: FloatArray) -> tuple[FloatArray, NDArray[np.bool_]]:
        x_mm, y_mm = self._carriage.true_mm(t_s - self._sensor.lag_s)
        surface_mm = self._bench.trace(self._carriage.line).read_mm(x_mm, y_mm)
        return self._sensor.counts(t_s, surface_mm + self._bench.rail.error_mm(x_mm, y_mm))

    def _temperatures(self, t_s: FloatArray) -> Cells:
        if not (self._bench.faults.thermometer and self._part.reads):
            return [None] * len(t_s)
        return thermometer_counts(self._bench.climate.celsius(t_s), self._rng)

    def _sent(self, lines: list[bytes], t_us: list[int], valid: NDArray[np.bool_]) -> bytes:
        """Spoilt lines, with an event before the first sample of each run out of range."""
        before = np.concatenate([[self._was_valid], valid[:-1]])
        self._was_valid = bool(valid[-1])
        lines = spoil(lines, self._bench.faults, self._rng)
        for index in np.flatnonzero(before & ~valid).tolist():
            # After a line that lost its end the event would be lost with it.
            ended = index == 0 or lines[index - 1].endswith(b"\n") or not lines[index - 1]
            lost = b"" if ended else b"\n"
            lines[index] = lost + encode.event(t_us[index], "overrange") + lines[index]
        return b"".join(lines)
