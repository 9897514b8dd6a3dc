"""A controller's firmware, without I/O: bytes from the host in, bytes to the host out.

Time is the device's own. It runs when bytes are asked for: from sample to sample, or from
event to event, as far as `until_s` allows.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from daq.wire.line import encode
from sim.bench import Bench
from sim.cable import happens
from sim.carriage import Carriage
from sim.clock import Counters
from sim.commands import Command, CommandReader
from sim.controller import Flood, Trouble
from sim.drive import Drive
from sim.limits import Refusal, move_target, stream_rate_hz
from sim.line_voice import LineVoice
from sim.motion import Play
from sim.part import RIG, Part
from sim.sampler import Sampler
from sim.stream import SampleStream
from sim.voice import Voice


def parked_carriage(bench: Bench) -> Carriage:
    """The rig's one carriage, at its end stop."""
    faults = bench.faults
    play = Play(faults.backlash_mm, 1e-6 * faults.backlash_slope_um_per_m)
    return Carriage(bench.spec, bench.rail, play)


class Device:
    """One controller from power-on at now_s. Two of a rig share its carriage."""

    def __init__(
        self,
        bench: Bench,
        epoch: int = 0,
        part: Part = RIG,
        carriage: Carriage | None = None,
        now_s: float = 0.0,
        voice: Voice | None = None,
    ) -> None:
        seed = bench.scenario.seed
        own = [] if part.drives else [1]
        self.part = part
        self._bench = bench
        self._voice = LineVoice() if voice is None else voice
        self._reader = CommandReader()
        self._carriage = parked_carriage(bench) if carriage is None else carriage
        self._drive = Drive(self._carriage)
        self._counters = Counters(
            seed + epoch + (0 if part.drives else 7919), part.clock_share * bench.faults.clock_ppm
        )
        self._rng = np.random.default_rng([seed, 5, epoch, *own])
        sampler = Sampler(bench, part, self._carriage, self._counters, self._rng)
        self._stream = SampleStream(sampler, self._voice, bench.faults, self._rng)
        self._now_s = now_s
        self._out: list[bytes] = []

    @property
    def moving(self) -> bool:
        return self._drive.moving

    @property
    def streaming(self) -> bool:
        return self._stream.on

    @property
    def now_s(self) -> float:
        """Seconds since power-on."""
        return self._now_s

    @property
    def _highest_rate_hz(self) -> int:
        return min(self._bench.spec.highest_rate_hz, self._voice.highest_rate_hz)

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
            self._run(max_bytes, until_s)
        out, self._out = b"".join(self._out), []
        return out

    def stall(self) -> None:
        """The present move, or else the next one, gets stuck half way through what is left."""
        self._drive.stall(self._now_s)

    def push(self, to_mm: float, seconds: float, y_mm: float) -> None:
        """A hand sets the cross slide and pushes the carriage. Refusal where it may not."""
        self._refuse_while_moving()
        low, high = self._bench.spec.travel_mm
        if not (low <= to_mm <= high and seconds > 0.0):
            raise Refusal(f"to_mm is {low:g} to {high:g} and seconds are above 0")
        x_mm, _ = self._carriage.target_mm
        self._carriage.set_cross(self._now_s, y_mm)
        self._drive.push(self._now_s, (to_mm, y_mm), 1.1 * abs(to_mm - x_mm) / seconds)

    def hang_up(self) -> None:
        """The reader has gone: no stream, no motion, no answers kept."""
        self._stream.stop()
        self._out = []
        if self.moving and not self.part.by_hand:
            self._drive.stop(self._now_s)
        self._reader = CommandReader()

    def trouble(self, kind: Trouble, on: bool) -> None:
        """Has it send its next sample again and again, or stops its clock."""
        if kind == "freeze_clock":
            self._counters.freeze(self._now_s if on else None)
        else:
            self._stream.repeat(on)

    def surplus(self, kind: Flood, max_bytes: int) -> bytes:
        """Samples or events of this very moment, about so many bytes of them."""
        if kind == "samples":
            return self._stream.surplus(self._now_s, max_bytes)
        event = self._voice.rare(encode.event(self._counters.t_us(self._now_s), "overrange"))
        return event * max(max_bytes // len(event), 1)

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
        if self.part.name != "rig":
            name = f"{name}-{self.part.name}"
        self._say(encode.hello_reply(name, self._highest_rate_hz))

    def _start_stream(self, fields: tuple[str, ...]) -> None:
        period_s = self._counters.second_s / stream_rate_hz(fields, self._highest_rate_hz)
        self._stream.start(self._now_s, period_s)
        self._say(encode.accept("G"))

    def _stop_stream(self, fields: tuple[str, ...]) -> None:
        self._stream.stop()
        self._say(encode.accept("X"))

    def _move(self, fields: tuple[str, ...]) -> None:
        self._refuse_without_motor()
        self._refuse_while_moving()
        target = move_target(fields, self._carriage.target_mm, self._bench.spec)
        self._say(encode.accept("M"))
        self._drive.set_off(self._now_s, target.to_mm, target.speed_mm_s, "arrived")

    def _home(self, fields: tuple[str, ...]) -> None:
        self._refuse_without_motor()
        self._refuse_while_moving()
        self._say(encode.accept("O"))
        self._drive.set_off(self._now_s, (0.0, 0.0), self._bench.spec.speed_mm_s, "homed")

    def _halt(self, fields: tuple[str, ...]) -> None:
        if not self.part.drives:
            self._refuse_without_motor()
        self._say(encode.accept("K"))
        # There is no halting a hand, and nothing else moves such a rig.
        if not self.part.by_hand:
            self._drive.stop(self._now_s)
        self._say(encode.event(self._counters.t_us(self._now_s), "halted"))

    def _refuse_without_motor(self) -> None:
        if not self.part.drives:
            raise Refusal("this is the sensor: the carriage is on another port")
        if self.part.by_hand:
            raise Refusal("no motor: the carriage is pushed by hand")

    def _refuse_while_moving(self) -> None:
        if self.moving:
            raise Refusal("still moving: wait for the end of the move or send K")

    def _run(self, max_bytes: int, until_s: float | None) -> None:
        """A block of samples up to the end of the move, or that end, whichever is first."""
        limit_s = np.inf if until_s is None else until_s
        end_s = self._drive.stops_s
        if self._stream.on and self._stream.next_s <= min(end_s, limit_s):
            sent, self._now_s = self._stream.send(max_bytes, min(end_s, limit_s))
            self._out.append(sent)
        elif self.moving and end_s <= limit_s:
            self._end_move(end_s)
        elif until_s is not None:
            self._now_s = max(self._now_s, until_s)

    def _end_move(self, end_s: float) -> None:
        self._now_s = max(self._now_s, end_s)
        word = self._drive.end(self._now_s)
        if word:
            self._say(encode.event(self._counters.t_us(self._now_s), word))

    def _say(self, line: bytes) -> None:
        one_in = self._bench.faults.bad_reply_one_in
        if not happens(one_in, 1, self._rng)[0]:
            self._out.append(self._voice.rare(line))
