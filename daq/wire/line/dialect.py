"""The line protocol as a dialect: frames of text both ways."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, assert_never

from daq.wire.commands import Command, Halt, Hello, Home, Move, Stop, Stream
from daq.wire.dialect import NothingDue
from daq.wire.line import encode
from daq.wire.line.decode import LineDecoder


@dataclass(frozen=True, slots=True)
class LineDialect:
    """It has nothing to be set."""

    @property
    def protocol(self) -> str:
        return "line"

    @property
    def has_clock(self) -> bool:
        return True

    def settings(self) -> Mapping[str, Any]:
        """None."""
        return {}

    def decoder(self, *, skip_first: bool = False) -> LineDecoder:
        """A new decoder."""
        return LineDecoder(skip_first=skip_first)

    def talk(self) -> LineTalk:
        """A new conversation."""
        return LineTalk()


class LineTalk(NothingDue):
    """Every command is a frame, and the device answers each."""

    def say(self, command: Command, now_s: float) -> bytes:
        """The command's frame."""
        match command:
            case Hello():
                return encode.hello()
            case Stream(rate_hz):
                return encode.stream(rate_hz)
            case Stop():
                return encode.stop()
            case Move(x, y, speed):
                return encode.move(x, y, speed)
            case Home():
                return encode.home()
            case Halt():
                return encode.halt()
            case _:
                assert_never(command)
