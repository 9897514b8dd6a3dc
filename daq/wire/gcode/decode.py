"""What a board sends: places, `ok`, refusals, alarms, greetings. Bytes in, records out."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from daq.wire.gcode.axes import Counts
from daq.wire.gcode.lines import LineCutter
from daq.wire.gcode.position import PositionReader
from daq.wire.records import ABSENT, Batch, Event, Reply, SampleBlock

LONGEST_EXAMPLE = 120
ACCEPTED, REFUSED, CHATTER = "A", "N", "I"
OF_THE_LINE = ""
"""Where an answer's command stands: a board does not say which line it answers."""


@dataclass(frozen=True, slots=True)
class Words:
    """How a board's lines begin, whatever their case.

    greeting: empty where it greets not. chatter: lines that say nothing here.
    """

    accepted: str
    refused: str
    alarm: str
    greeting: str
    chatter: tuple[str, ...]


class GcodeDecoder:
    """Cuts a byte stream into lines and the lines into records.

    A place is a sample without a reading; its number is counted here, its time is for whoever
    knows when it came. `ok` and refusals are replies to a command with no name, in the order
    of the lines sent; an alarm is the event `stalled`, a greeting `reset`. A line that is none
    of all this is counted and dropped. However the stream is cut into feeds, the records come
    out the same.
    """

    def __init__(self, reader: PositionReader, words: Words, *, skip_first: bool = False) -> None:
        self._cutter = LineCutter(skip_first=skip_first)
        self._reader = reader
        self._words = words
        self._samples = 0

    def feed(self, data: bytes) -> Batch:
        """Everything that these bytes complete."""
        found = _Found()
        for line, end in self._cutter.feed(data):
            self._take(line, end, found)
        return found.batch(self._samples)

    def _take(self, line: bytes | None, end: int, found: _Found) -> None:
        if line is None:  # too long to be anything
            found.bad.append(b"")
            return
        text = line.decode("latin-1").strip(" \t\r\0")
        place = self._reader.read(text.encode("latin-1"))
        if place is not None:
            found.places.append(place)
            found.ends.append(end)
            self._samples += 1
        if not self._said(text, found) and place is None:
            found.bad.append(line[:LONGEST_EXAMPLE])

    def _said(self, text: str, found: _Found) -> bool:
        """Whether the line says one of the words; blank ones say nothing, and are no fault."""
        words = self._words
        if begins(text, words.accepted):
            found.replies.append(Reply(ACCEPTED, (OF_THE_LINE,), self._samples))
        elif begins(text, words.refused):
            found.replies.append(Reply(REFUSED, (OF_THE_LINE, text), self._samples))
        elif words.alarm and begins(text, words.alarm):
            found.events.append(Event(0, "stalled", text, self._samples))
        elif words.greeting and begins(text, words.greeting):
            found.events.append(Event(0, "reset", text, self._samples))
        elif any(begins(text, each) for each in words.chatter):
            found.replies.append(Reply(CHATTER, (OF_THE_LINE, text), self._samples))
        else:
            return not text
        return True


def begins(text: str, word: str) -> bool:
    """Whether a line begins with a word, and not with a longer one."""
    if text[: len(word)].lower() != word.lower():
        return False
    return not (word[-1:].isalnum() and text[len(word) : len(word) + 1].isalpha())


@dataclass(slots=True)
class _Found:
    places: list[Counts] = field(default_factory=list)
    ends: list[int] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    replies: list[Reply] = field(default_factory=list)
    bad: list[bytes] = field(default_factory=list)

    def batch(self, seen: int) -> Batch:
        """seen: samples in all, these included."""
        return Batch(
            places_as_samples(self.places, seen - len(self.places)),
            tuple(self.events),
            tuple(self.replies),
            len(self.bad),
            next(filter(None, self.bad), b""),
            np.array(self.ends, np.int64),
        )


def places_as_samples(places: Iterable[Counts], first: int) -> SampleBlock:
    """Numbered from `first` on, without a time and without a reading."""
    table = np.array(list(places), np.int32).reshape(-1, 2)
    count = len(table)
    seq = (np.arange(first, first + count) % 2**32).astype(np.uint32)
    absent = np.full(count, ABSENT, np.int32)
    x, y = table[:, 0].copy(), table[:, 1].copy()
    return SampleBlock(seq, np.zeros(count, np.uint32), x, y, absent, absent)
