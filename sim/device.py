"""The rig's firmware, without I/O: bytes from the host in, bytes to the host out.

Time is the device's own. It runs when bytes are asked for: from sample to sample, or from
event to event, as far as `until_s` allows.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from daq.wire import encode
from sim.bench import Bench
from sim.carriage import Carriage
from sim.clock import Counters
from sim.commands import Command, CommandReader
from sim.faults import happens
from sim.limits import Refusal, move_target, stream_rate_hz
from sim.sampler import Sampler

BYTES_A_SAMPLE = 46


@dataclass(frozen=True, slots=True)
class Stream:
    """Samples at start_s + n / rate_hz; `sent` of them are out."""

    start_s: float
    rate_hz: int
    sent: int

    @property
    def next_s(self) -> float:
        return self.start_s + self.sent / self.rate_hz


class Device:
    """One rig from power-on, parked at its end stop with its counts at zero."""

    def __init__(self, bench: Bench, epoch: int = 0) -> None:
        seed = bench.scenario.seed
        self._bench = bench
        self._reader = CommandReader()
        self._carriage = Carriage(bench.spec, bench.rail, bench.faults.backlash_mm)
        self._counters = Counters(seed + epoch)
        self._rng = np.random.default_rng([seed, 5, epoch])
        self._sampler = Sampler(bench, self._carriage, self._counters, self._rng)
        self._now_s = 0.0
        self._stream: Stream | None = None
        self._ends_with = ""
        self._stops_s = 0.0
        self._stall_next = False
        self._out: list[bytes] = []

    @property
    def moving(self) -> bool:
        return bool(self._ends_with)

    @property
    def streaming(self) -> bool:
        return self._stream is not None

    @property
    def now_s(self) -> float:
        """Seconds since power-on."""
        return self._now_s

    def feed(self, data: bytes) -> None:
        """Bytes from the host; answers wait for the next `produce`."""
        for command in self._reader.feed(data):
            try:
                self._obey(command)
            except Refusal as reason:
                self._say(encode.refuse(command.letter, str(reason)))

    def produce(self, max_bytes: int, until_s: float | None = None) -> bytes:
        """What the rig sends next: answers first, then one block of at most about max_bytes.

        until_s: device time not to go past; None runs as fast as the bytes are taken.
        Empty when there is nothing to send before then.
        """
        if not self._out:
            self._run(max(max_bytes // BYTES_A_SAMPLE, 1), until_s)
        out, self._out = b"".join(self._out), []
        return out

    def stall(self) -> None:
        """The present move, or else the next one, gets stuck half way through what is left."""
        self._stall_next = True
        if self.moving:
            self._stall_half_way()

    def hang_up(self) -> None:
        """The reader has gone: no stream, no motion, no answers kept."""
        self._stream = None
        self._out = []
        if self.moving:
            self._stop_moving()
        self._reader = CommandReader()

    def _obey(self, command: Command) -> None:
        obey = self._commands().get(command.letter)
        if obey is None:
            raise Refusal("unknown command")
        obey(command.fields)

    def _commands(self) -> dict[str, Callable[[tuple[str, ...]], None]]:
        return {
            "H": self._hello,
            "G": self._start_stream,
            "X": self._stop_stream,
            "M": self._move,
            "O": self._home,
            "K": self._halt,
        }

    def _hello(self, fields: tuple[str, ...]) -> None:
        name = f"sim-{self._bench.scenario.seed}"
        self._say(encode.hello_reply(name, self._bench.spec.highest_rate_hz))

    def _start_stream(self, fields: tuple[str, ...]) -> None:
        rate_hz = stream_rate_hz(fields, self._bench.spec)
        self._stream = Stream(self._now_s + 1.0 / rate_hz, rate_hz, 0)
        self._say(encode.accept("G"))

    def _stop_stream(self, fields: tuple[str, ...]) -> None:
        self._stream = None
        self._say(encode.accept("X"))

    def _move(self, fields: tuple[str, ...]) -> None:
        self._refuse_while_moving()
        target = move_target(fields, self._carriage.target_mm, self._bench.spec)
        self._say(encode.accept("M"))
        self._set_off(target.to_mm, target.speed_mm_s, "arrived")

    def _home(self, fields: tuple[str, ...]) -> None:
        self._refuse_while_moving()
        self._say(encode.accept("O"))
        self._set_off((0.0, 0.0), self._bench.spec.speed_mm_s, "homed")

    def _halt(self, fields: tuple[str, ...]) -> None:
        self._say(encode.accept("K"))
        self._stop_moving()
        self._say(encode.event(self._counters.t_us(self._now_s), "halted"))

    def _refuse_while_moving(self) -> None:
        if self.moving:
            raise Refusal("still moving: wait for the end of the move or send K")

    def _set_off(self, to_mm: tuple[float, float], speed_mm_s: float, ends_with: str) -> None:
        self._carriage.start(self._now_s, to_mm, speed_mm_s)
        self._ends_with = ends_with
        self._stops_s = self._carriage.end_s
        if self._stall_next:
            self._stall_half_way()

    def _stall_half_way(self) -> None:
        self._stops_s = 0.5 * (self._now_s + self._carriage.end_s)
        self._ends_with = "stalled"
        self._stall_next = False

    def _stop_moving(self) -> None:
        self._carriage.stop(self._now_s)
        self._ends_with = ""

    def _run(self, samples: int, until_s: float | None) -> None:
        """A block of samples up to the end of the move, or that end, whichever is first."""
        limit_s = np.inf if until_s is None else until_s
        end_s = self._stops_s if self.moving else np.inf
        if self._stream is not None and self._stream.next_s <= min(end_s, limit_s):
            self._sample(self._stream, samples, min(end_s, limit_s))
        elif self.moving and end_s <= limit_s:
            self._end_move(end_s)
        elif until_s is not None:
            self._now_s = max(self._now_s, until_s)

    def _sample(self, stream: Stream, samples: int, last_s: float) -> None:
        t_s = stream.start_s + np.arange(stream.sent, stream.sent + samples) / stream.rate_hz
        t_s = t_s[: max(int(np.searchsorted(t_s, last_s, side="right")), 1)]
        self._out.append(self._sampler.lines(t_s))
        self._now_s = float(t_s[-1])
        self._stream = Stream(stream.start_s, stream.rate_hz, stream.sent + len(t_s))

    def _end_move(self, end_s: float) -> None:
        word = self._ends_with
        self._now_s = max(self._now_s, end_s)
        self._ends_with = ""
        if word == "stalled":
            self._carriage.stop(self._now_s)
        self._say(encode.event(self._counters.t_us(self._now_s), word))

    def _say(self, line: bytes) -> None:
        one_in = self._bench.faults.bad_reply_one_in
        if not happens(one_in, 1, self._rng)[0]:
            self._out.append(line)
