"""A controller that is a chip: its firmware runs cycle by cycle, its pins are the rig's.

What it is asked over the port goes in at its serial line's own speed; each request of its
indicator is answered with what the sensor meets where its steps have moved the carriage.
"""

from __future__ import annotations

import numpy as np

from sim.cable import spoil
from sim.chip import HZ, Axis, Chip, Firmware
from sim.chip_surface import Surface
from sim.commands import CommandReader
from sim.controller import Flood, Trouble, World
from sim.indicator import BITS, frame
from sim.limits import Refusal
from sim.motion import Play
from sim.part import Part
from sim.sensor import Sensor
from sim.track import Track

# Beyond the travel, mm: where an end stop is pressed, and where the metal ends.
STOP_MM, END_MM = 0.5, 1.5
Y_STOP_MM, Y_END_MM = 1.0, 3.0

# In cycles: an answer comes within so long, or there is none; what it runs at a time.
ANSWER, TURN, SLICE = 3 * HZ // 100, HZ // 20, HZ // 200
STILL_S = 0.1
SILENT_S = 1.1
JAMS_AFTER_S = 0.3
# As many steps lost are seen by an encoder (config.h, STALL_COUNTS); after fewer nobody knows.
SEEN_STEPS = 40


class ChipBoard:
    """Powered on when it is made; the reader's going pulls its reset line, as such boards do."""

    def __init__(self, world: World, part: Part, firmware: Firmware) -> None:
        bench = world.bench
        spec, faults = bench.spec, bench.faults
        self.part = part
        self._bench = bench
        self._rng = np.random.default_rng([bench.scenario.seed, 13, world.epoch])
        low, high = (round(end / spec.mm_per_x_count) for end in spec.travel_mm)
        margin, stop = round(END_MM / spec.mm_per_x_count), round(STOP_MM / spec.mm_per_x_count)
        y_low, y_high = (round(end / spec.mm_per_y_count) for end in spec.cross_mm)
        y_end, y_stop = (round(each / spec.mm_per_y_count) for each in (Y_END_MM, Y_STOP_MM))
        self._chip = Chip(
            firmware,
            Axis(low, low - margin, high + margin, low - stop),
            Axis(0, y_low - y_end, y_high + y_end, y_low - y_stop),
        )
        self._track = Track(spec, Play(faults.backlash_mm, 1e-6 * faults.backlash_slope_um_per_m))
        self._surface = Surface(bench)
        self._sensor = Sensor(spec, faults, bench.climate, bench.plunger, self._rng)
        self._reader = CommandReader()
        self._started_s = -world.now_s
        self._asked = False
        self._said_s = self._sampled_s = -np.inf
        self._jam_from_s = np.inf
        self._tail = b""

    @property
    def moving(self) -> bool:
        return 0 < self._chip.last_pulse > self._chip.cycle - STILL_S * HZ

    @property
    def streaming(self) -> bool:
        return self._sampled_s > self._chip_s - SILENT_S

    @property
    def now_s(self) -> float:
        return self._chip_s - self._started_s

    @property
    def _chip_s(self) -> float:
        return self._chip.cycle / HZ

    def feed(self, data: bytes) -> None:
        self._asked = True
        for command in self._reader.feed(data):
            if command.letter == "M":
                self._surface.expect(self._track.here_mm, command.fields)
        self._chip.hear(data)

    def produce(self, max_bytes: int, until_s: float | None = None) -> bytes:
        """Runs on by as much as is due; on its own until it has answered, or some samples long."""
        if until_s is not None:
            self._run(round((until_s + self._started_s) * HZ))
            return self._out()
        busy = self.moving or self.streaming
        until = self._chip.cycle + (TURN if busy and not self._asked else ANSWER)
        out = b""
        while self._chip.cycle < until and not (self._asked and out):
            self._run(min(until, self._chip.cycle + SLICE))
            out += self._out()
        self._asked = False
        return out

    def stall(self) -> None:
        """The carriage sticks: soon on the present move, a little into the next one."""
        self._jam_from_s = self._chip_s + (0.0 if self.moving else JAMS_AFTER_S)

    def push(self, to_mm: float, seconds: float, y_mm: float) -> None:
        raise Refusal("a motor moves this rig")

    def hang_up(self) -> None:
        self._chip.reset()
        self._chip.said()
        self._reader = CommandReader()
        self._asked, self._tail, self._sampled_s = False, b"", -np.inf

    def trouble(self, kind: Trouble, on: bool) -> None:
        raise Refusal("real firmware has no such trouble on order")

    def surplus(self, kind: Flood, max_bytes: int) -> bytes:
        raise Refusal("real firmware does not flood on order")

    def _run(self, until: int) -> None:
        while self._chip.cycle < until:
            self._stick()
            ended = self._chip.run(until)
            self._track.add(self._chip.steps())
            if ended == "asked":
                self._chip.reading(frame(self._reads()), BITS)

    def _reads(self) -> int | None:
        """The sensor's counts at this moment, None out of range."""
        carriage_mm, y_mm = self._track.at_mm(self._chip_s - self._sensor.lag_s)
        x_mm = self._bench.rail.true_mm(np.array([carriage_mm]))
        z_mm = self._surface.read_mm(x_mm, np.array([y_mm]))
        z_mm = z_mm + self._bench.rail.error_mm(x_mm, np.array([y_mm]))
        counts, valid = self._sensor.counts(np.array([self.now_s]), z_mm)
        return int(counts[0]) if valid[0] else None

    def _stick(self) -> None:
        """A jam lasts until the firmware has given up. One at rest, or at the end of a move, that
        the firmware cannot have seen comes again a little into the next one."""
        due = self._chip_s >= self._jam_from_s
        if due and self._chip.last_pulse < self._chip.cycle - STILL_S * HZ:
            unseen = self._chip.lost < SEEN_STEPS
            self._jam_from_s = self._chip_s + JAMS_AFTER_S if unseen else np.inf
            due = False
        self._chip.jam(due)

    def _out(self) -> bytes:
        """What it said, past a cable that may be poor for samples."""
        *lines, self._tail = (self._tail + self._chip.said()).split(b"\n")
        if any(line.startswith(b"S,") for line in lines):
            self._sampled_s = self._chip_s
        whole = [line + b"\n" for line in lines]
        sent = [line for line in whole if line[:2] == b"S,"]
        samples = iter(spoil(sent, self._bench.faults, self._rng))
        return b"".join(next(samples) if line[:2] == b"S," else line for line in whole)
