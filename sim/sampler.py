"""Samples as lines: positions, readings and counters of a block of times, then the cable."""

from __future__ import annotations

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from daq.wire import encode
from sim.bench import Bench
from sim.carriage import Carriage
from sim.clock import Counters
from sim.faults import spoil
from sim.instrument import FloatArray
from sim.sensor import Sensor


class Sampler:
    """Everything is an array until the last step: one line of bytes a sample."""

    def __init__(
        self, bench: Bench, carriage: Carriage, counters: Counters, rng: Generator
    ) -> None:
        self._bench = bench
        self._carriage = carriage
        self._counters = counters
        self._rng = rng
        self._sensor = Sensor(bench.spec, bench.rail, bench.faults, rng)
        self._was_valid = True

    def lines(self, t_s: FloatArray) -> bytes:
        """The samples at these device times, with the events a sensor makes among them."""
        raw, valid = self._read(t_s)
        raw_cells: list[int | None] = raw.astype(np.int64).tolist()
        for index in np.flatnonzero(~valid).tolist():
            raw_cells[index] = None
        x, y = (axis.astype(np.int64).tolist() for axis in self._carriage.counts(t_s))
        t_us = self._counters.many_t_us(t_s)
        seq = self._counters.take(len(t_us))
        lines = list(map(encode.sample, seq, t_us, x, y, raw_cells))
        return self._sent(lines, t_us, valid)

    def _read(self, t_s: FloatArray) -> tuple[FloatArray, NDArray[np.bool_]]:
        x_mm, y_mm = self._carriage.true_mm(t_s - self._sensor.lag_s)
        surface_mm = self._bench.trace(self._carriage.line).read_mm(x_mm, y_mm)
        return self._sensor.counts(t_s, x_mm, surface_mm)

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
