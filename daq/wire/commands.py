"""What a rig can be told, whatever protocol it speaks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar


@dataclass(frozen=True, slots=True)
class Hello:
    """Who is there?"""

    letter: ClassVar[str] = "H"


@dataclass(frozen=True, slots=True)
class Stream:
    """Send samples at this rate."""

    rate_hz: float
    letter: ClassVar[str] = "G"


@dataclass(frozen=True, slots=True)
class Stop:
    """Stop the stream."""

    letter: ClassVar[str] = "X"


@dataclass(frozen=True, slots=True)
class Move:
    """A straight move to these counts, at this speed in x counts a second.

    None keeps the axis where it is, or takes the rig's own speed.
    """

    x: int | None
    y: int | None
    speed: int | None
    letter: ClassVar[str] = "M"


@dataclass(frozen=True, slots=True)
class Home:
    """Find the end stop, set x and y to 0."""

    letter: ClassVar[str] = "O"


@dataclass(frozen=True, slots=True)
class Halt:
    """Halt at once."""

    letter: ClassVar[str] = "K"


Command = Hello | Stream | Stop | Move | Home | Halt
