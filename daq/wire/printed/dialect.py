"""A sensor that prints its readings, as a dialect: it is told next to nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from daq.wire.commands import Command, Halt, Hello, Home, Move, Stop, Stream
from daq.wire.dialect import NothingDue
from daq.wire.printed.decode import PrintedDecoder
from daq.wire.printed.match import line_pattern
from daq.wire.printed.template import parse_template
from daq.wire.records import Batch, Reply

DEVICE_ID = "printed"
MOVES_NOTHING = "a sensor that prints moves nothing"


@dataclass(frozen=True, slots=True)
class PrintedDialect:
    """pattern, invalid: see `template` and `line_pattern`. decimals: so many are kept.

    rate_hz: lines a second. even: they come evenly, so that their count is a clock. start, stop:
    texts that make it print and be quiet; empty where it prints on and on.
    """

    pattern: str
    decimals: int
    rate_hz: int
    invalid: Sequence[str] = ()
    even: bool = True
    start: str = ""
    stop: str = ""

    @property
    def protocol(self) -> str:
        return "printed"

    @property
    def has_clock(self) -> bool:
        return self.even

    def settings(self) -> Mapping[str, Any]:
        """All of them."""
        return {**asdict(self), "invalid": list(self.invalid)}

    def decoder(self, *, skip_first: bool = False) -> PrintedDecoder:
        """A new decoder; it skips its first line in any case."""
        pattern = line_pattern(parse_template(self.pattern), self.invalid)
        return PrintedDecoder(pattern, self.decimals, self.rate_hz)

    def talk(self) -> PrintedTalk:
        """A new conversation."""
        return PrintedTalk(self)


class PrintedTalk(NothingDue):
    """Answers in the sensor's stead: hello once a line of it was read, the rest at once."""

    def __init__(self, dialect: PrintedDialect) -> None:
        self._start = dialect.start.encode("ascii")
        self._stop = dialect.stop.encode("ascii")
        self._rate_hz = dialect.rate_hz
        self._greeted = False
        self._owed: list[Reply] = []

    def say(self, command: Command, now_s: float) -> bytes:
        """What makes it print, or be quiet."""
        match command:
            case Hello():
                self._greeted = True
                return self._start
            case Stream(rate_hz) if rate_hz > self._rate_hz:
                self._owe("N", command.letter, f"it prints {self._rate_hz} lines a second")
                return b""
            case Stream():
                self._owe("A", command.letter)
                return self._start
            case Stop():
                self._owe("A", command.letter)
                return self._stop
            case Move() | Home() | Halt():
                self._owe("N", command.letter, MOVES_NOTHING)
                return b""

    def hear(self, batch: Batch, now_s: float) -> Batch:
        """With the answers that are owed."""
        if self._greeted and len(batch.samples):
            self._greeted = False
            self._owe("H", "1", DEVICE_ID, str(self._rate_hz))
        if not self._owed:
            return batch
        replies, self._owed = (*batch.replies, *self._owed), []
        return replace(batch, replies=replies)

    def _owe(self, kind: str, *fields: str) -> None:
        self._owed.append(Reply(kind, fields, 0))
