"""A G-code board, without I/O: lines from the host in, answers out, in its own time.

Lines wait for one another, moves in a planner of a few; a line is answered `ok` once it is taken,
a dwell and homing once they are over. Each line and each answer takes a few milliseconds, never
the same. A character that it obeys at once is seen wherever it stands.
"""

from __future__ import annotations

from collections import deque

import numpy as np

from sim.controller import Flood, Trouble, World
from sim.drive import Drive
from sim.gcode_modes import Deed, Go, Home, Modes, Tell, Wait
from sim.gcode_tongues import Tongue
from sim.gcode_words import BadLine, parse_block
from sim.limits import Refusal
from sim.part import Part

PLANNED = 8
"""Moves that are held ready."""
TAKES_S = (0.0005, 0.0025)
SENDS_S = (0.0005, 0.003)
"""How long a line, and its answer, take at least and at most: common practice, no source."""
Point = tuple[float, float]


class Board:
    """From power-on at the world's now_s, greeting; it drives the world's carriage."""

    def __init__(self, world: World, part: Part, tongue: Tongue) -> None:
        self.part = part
        self._tongue = tongue
        self._bench = world.bench
        self._spec = world.bench.spec
        self._carriage = world.carriage
        self._drive = Drive(world.carriage)
        self._rng = np.random.default_rng([world.bench.scenario.seed, 11, world.epoch])
        self._now_s = self._turn_s = world.now_s
        self._tail = b""
        self._held = False
        self._sending: deque[tuple[float, bytes]] = deque()
        self._power_on()

    @property
    def moving(self) -> bool:
        return self._drive.moving

    @property
    def streaming(self) -> bool:
        """Never: it is asked."""
        return False

    @property
    def now_s(self) -> float:
        return self._now_s

    def feed(self, data: bytes) -> None:
        """Bytes from the host, now."""
        for at in range(len(data)):
            self._hear(data[at : at + 1])

    def produce(self, max_bytes: int, until_s: float | None = None) -> bytes:
        """What it has sent by then."""
        until_s = self._now_s if until_s is None else until_s
        sets_off = self._held and until_s > self._turn_s
        self._turn_s = until_s
        while (next_s := self._next_s()) <= until_s:
            self._now_s = max(self._now_s, next_s)
            self._do_next()
        self._now_s = max(self._now_s, until_s)
        if sets_off and self._held:
            self._held = False
            self._set_off()
        out = b""
        while self._sending and self._sending[0][0] <= until_s:
            out += self._sending.popleft()[1]
        return out

    def stall(self) -> None:
        self._drive.stall(self._now_s)

    def reset(self) -> None:
        """As by its button: it stops, forgets where it is, and greets."""
        self._power_on()
        self._carriage.park(self._now_s)

    def push(self, to_mm: float, seconds: float, y_mm: float) -> None:
        raise Refusal("a board has motors: there is nothing to push")

    def hang_up(self) -> None:
        """The reader has gone: nothing waits, and the carriage stands."""
        self._drive.stop(self._now_s)
        self._sending.clear()
        self._forget()

    def trouble(self, kind: Trouble, on: bool) -> None:
        raise Refusal("a board sends no samples and has no clock")

    def surplus(self, kind: Flood, max_bytes: int) -> bytes:
        raise Refusal("a board sends no samples and no events")

    def _power_on(self) -> None:
        self._drive.stop(self._now_s)
        self._forget()
        self._modes = Modes(self._spec)
        self._locked = False
        self._say(self._tongue.greeting)

    def _forget(self) -> None:
        """Lines, moves and questions that are not done yet."""
        self._lines: deque[tuple[float, str]] = deque()
        self._planned: deque[Go] = deque()
        self._waits: Wait | Home | None = None
        self._waits_until_s: float | None = None
        self._asked: deque[float] = deque()
        self._tail = b""
        self._held = False

    def _hear(self, byte: bytes) -> None:
        tongue = self._tongue
        if byte == tongue.query:
            self._asked.append(self._now_s + self._some(TAKES_S))
        elif byte == tongue.reset:
            moved = self.moving
            self._power_on()
            self._locked = tongue.locks and moved
        elif byte == b"\n":
            line, self._tail = self._tail.decode("latin-1").strip(), b""
            if tongue.halt and line == tongue.halt:
                self._halt()
            else:
                self._lines.append((self._now_s + self._some(TAKES_S), line))
        else:
            self._tail += byte

    def _halt(self) -> None:
        """At once: what waits is not done, and its lines get no answer."""
        self._drive.stop(self._now_s)
        self._forget()
        self._say("ok")

    def _next_s(self) -> float:
        """When the next thing happens of itself; inf where nothing will."""
        waiting_s = [self._drive.stops_s]
        if self._asked:
            waiting_s.append(self._asked[0])
        if self._waits_until_s is not None:
            waiting_s.append(self._waits_until_s)
        elif self._waits is None and self._lines and len(self._planned) < PLANNED:
            waiting_s.append(self._lines[0][0])
        return min(waiting_s)

    def _do_next(self) -> None:
        if self._drive.stops_s <= self._now_s:
            self._end_move()
        elif self._asked and self._asked[0] <= self._now_s:
            self._asked.popleft()
            self._say(self._position())
        elif self._waits_until_s is not None:
            self._waits, self._waits_until_s = None, None
            self._say("ok")
        else:
            self._take(self._lines.popleft()[1])

    def _end_move(self) -> None:
        word = self._drive.end(self._now_s)
        if word == "stalled":
            self._forget()
            self._locked = self._tongue.locks
            self._say(f"{self._tongue.alarm}1 the axis is stuck")
        elif word == "homed":
            self._waits, self._locked = None, False
            self._modes.shift_mm = (0.0, 0.0)
            self._say("ok")
        self._set_off()

    def _take(self, line: str) -> None:
        """The next line's turn."""
        try:
            deed = self._deed(line)
            if self._locked and isinstance(deed, Go):
                raise BadLine("locked: home first")
        except BadLine as why:
            self._say(f"{self._tongue.error}{why}")
            return
        if isinstance(deed, Wait | Home):
            self._waits = deed
            self._set_off()
            return
        if isinstance(deed, Go):
            self._plan(deed)
        elif isinstance(deed, Tell):
            self._say(self._position())
        self._say("ok")

    def _plan(self, go: Go) -> None:
        """A move from rest begins with the next turn: what lies under its line is worked out now,
        which takes the host time, and a carriage on its way must not be lost sight of for it."""
        if not self.moving and not self._planned:
            self._bench.trace(self._carriage.line_to(self._now_s, go.to_mm))
            self._held = True
        self._planned.append(go)

    def _deed(self, line: str) -> Deed | None:
        if self._tongue.home and line == self._tongue.home:
            return Home()
        end_mm = self._planned[-1].to_mm if self._planned else self._standing_mm()
        deed = self._modes.obey(parse_block(line), end_mm)
        if isinstance(deed, Home) and self._tongue.home:
            raise BadLine("unknown code G28")
        if isinstance(deed, Tell) and self._tongue.query:
            raise BadLine("unknown code M114")
        return deed

    def _set_off(self) -> None:
        """The next planned move, or what waited for all of them to be over."""
        if self.moving or self._held:
            return
        if self._planned:
            go = self._planned.popleft()
            self._drive.set_off(self._now_s, go.to_mm, go.speed_mm_s, "arrived")
        elif isinstance(self._waits, Wait) and self._waits_until_s is None:
            self._waits_until_s = self._now_s + self._waits.seconds
        elif isinstance(self._waits, Home):
            self._drive.set_off(self._now_s, (0.0, 0.0), self._spec.speed_mm_s, "homed")

    def _standing_mm(self) -> Point:
        """Where it stands, or is going."""
        return self._carriage.target_mm if self.moving else self._at_mm()

    def _at_mm(self) -> Point:
        x, y = self._carriage.counts(np.array([self._now_s]))
        return float(x[0]) * self._spec.mm_per_x_count, float(y[0]) * self._spec.mm_per_y_count

    def _position(self) -> str:
        """Its own places where it is asked by a character, and else what X and Y call it."""
        x_mm, y_mm = self._at_mm()
        shift_mm = (0.0, 0.0) if self._tongue.query else self._modes.shift_mm
        return self._tongue.position(self._state(), (x_mm - shift_mm[0], y_mm - shift_mm[1]))

    def _state(self) -> str:
        if self._locked:
            return "Alarm"
        if isinstance(self._waits, Home):
            return "Home"
        return "Run" if self.moving else "Idle"

    def _say(self, text: str) -> None:
        after_s = max(self._now_s, self._sending[-1][0] if self._sending else 0.0)
        self._sending.append((after_s + self._some(SENDS_S), text.encode("latin-1") + b"\r\n"))

    def _some(self, least_most: tuple[float, float]) -> float:
        return float(self._rng.uniform(*least_most))
