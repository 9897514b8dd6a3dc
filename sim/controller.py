"""What stands behind a port, whatever it speaks: bytes in, bytes out, in its own time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, Protocol

from sim.bench import Bench
from sim.carriage import Carriage
from sim.part import Part
from sim.rigspec import RigSpec

Trouble = Literal["repeat", "freeze_clock"]
Flood = Literal["samples", "events"]


class Controller(Protocol):
    """One controller from power-on. All seconds are device seconds since then."""

    @property
    def part(self) -> Part: ...

    @property
    def moving(self) -> bool:
        """Whether the carriage is on a move of this controller's."""

    @property
    def streaming(self) -> bool:
        """Whether it sends samples of itself: with time, they become due."""

    @property
    def now_s(self) -> float:
        """How far it has run."""

    def feed(self, data: bytes) -> None:
        """Bytes from the host; answers wait for the next `produce`."""

    def produce(self, max_bytes: int, until_s: float | None = None) -> bytes:
        """What it sends next: answers first, then a block of at most about max_bytes.

        until_s: device time not to go past; None runs as fast as the bytes are taken. Empty
        when there is nothing to send before then: it has then run up to until_s.
        """

    def stall(self) -> None:
        """The present move, or else the next one, gets stuck half way through what is left."""

    def push(self, to_mm: float, seconds: float, y_mm: float) -> None:
        """A hand pushes the carriage. Refusal where it may not."""

    def hang_up(self) -> None:
        """The reader has gone: no stream, no motion, no answers kept."""

    def trouble(self, kind: Trouble, on: bool) -> None:
        """Has it send one sample again and again, or stops its clock. Refusal where it has none."""

    def surplus(self, kind: Flood, max_bytes: int) -> bytes:
        """About so many bytes that nobody asked for, in no time. Refusal where it has none."""


@dataclass(frozen=True, slots=True)
class World:
    """What a controller is made in.

    carriage: the rig's one carriage, which the controllers of a rig share.
    epoch: how often cables have been plugged in; with the seed, a seed of its own.
    now_s: when it is powered on.
    """

    bench: Bench
    carriage: Carriage
    epoch: int
    now_s: float


@dataclass(frozen=True, slots=True)
class Speaker:
    """A protocol as controllers speak it.

    make: a controller that speaks it.
    parts: which can: `rig` (all of it, on one link), `sensor`, `carriage`.
    real_time: it has no clock of its own or only answers, and so means nothing unless paced.
    settings: what a link of the rig file says besides port, baud and protocol, such as
        `printed: {...}`; empty for nothing.
    """

    make: Callable[[World, Part], Controller]
    parts: tuple[str, ...]
    real_time: bool
    settings: Callable[[RigSpec], str]
