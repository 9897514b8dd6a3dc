"""Journal records put together into one scan: samples handed on, passes as rows of a table."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from daq.errors import FileError
from daq.record.journal_format import JournalRecord, Kind
from daq.record.link_so_far import Keep, LinkSoFar, Mark
from daq.record.notes import (
    Dialects,
    Links,
    Note,
    PassBegin,
    PassEnd,
    Reconnected,
    ScanBegin,
    ScanEnd,
    parse_note,
)
from daq.wire.dialect import Dialect
from daq.wire.dialects import dialect_of
from daq.wire.records import Event

NO_ROW = -1
NO_PASS = -1
MOST_WAITING_BYTES = 2**20
"""So much is decoded at once at most: an hour of a fast sensor need not fit into memory."""
_NEVER_ENDED = ScanEnd("interrupted", "the record stops before the scan's end")


@dataclass(frozen=True, slots=True)
class Span:
    """What a pass has of one link: samples[first:first + count] of that link.

    bad_frames: lines dropped while it was open. lost: samples missing by their numbers;
    gaps: places where some are missing.
    """

    first: int
    count: int
    bad_frames: int
    lost: int
    gaps: int

    @property
    def rows(self) -> slice:
        """The samples, in their link's."""
        return slice(self.first, self.first + self.count)


@dataclass(frozen=True, slots=True)
class AssembledPass:
    """One pass. spans: by link."""

    begin: PassBegin
    good: bool
    why: tuple[str, ...]
    spans: tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class PlacedEvent:
    """An event, the row of the pass it fell into, NO_ROW outside any, and the link it came by."""

    event: Event
    row: int
    link: int = 0


@dataclass(frozen=True, slots=True)
class AssembledScan:
    """A whole scan but for its samples, which went to whoever keeps them.

    link_names: empty for a rig with one link. samples, bad_frames: how many, by link.
    """

    begin: ScanBegin
    end: ScanEnd
    link_names: tuple[str, ...]
    passes: tuple[AssembledPass, ...]
    events: tuple[PlacedEvent, ...]
    samples: tuple[int, ...]
    bad_frames: tuple[int, ...]


def assemble(records: Iterable[JournalRecord], keep: Keep) -> AssembledScan:
    """Decode the rig's bytes in order; a sample belongs to the pass open when it came.

    keep: gets the samples of each link, those outside any pass too, in order of arrival.

    A pass without an end is not good, and a scan without one is interrupted.
    FileError: there is no scan_begin among the notes, or a note cannot be understood.
    """
    assembler = _Assembler(keep)
    for record in records:
        if record.kind is Kind.RX:
            assembler.receive(record)
        elif record.kind is Kind.NOTE:
            assembler.heed(parse_note(record.payload))
    return assembler.finish()


@dataclass(frozen=True, slots=True)
class _Closed:
    """A pass that is over. marks: by link, before it and after it."""

    begin: PassBegin
    good: bool
    why: tuple[str, ...]
    marks: tuple[tuple[Mark, Mark], ...]


class _Assembler:
    """The state on the way through a journal."""

    def __init__(self, keep: Keep) -> None:
        self._keep = keep
        self._links = [LinkSoFar(0, keep)]
        self._waiting_bytes = 0
        self._names: tuple[str, ...] = ()
        self._begin: ScanBegin | None = None
        self._end = _NEVER_ENDED
        self._events: list[PlacedEvent] = []
        self._passes: list[_Closed] = []
        self._open: PassBegin | None = None
        self._before: tuple[Mark, ...] = ()

    def receive(self, record: JournalRecord) -> None:
        self._widen(record.link + 1)
        self._links[record.link].receive(record)
        self._waiting_bytes += len(record.payload)
        if self._waiting_bytes >= MOST_WAITING_BYTES:
            self._decode()

    def heed(self, note: Note | None) -> None:
        self._decode()
        match note:
            case ScanBegin():
                self._begin = self._begin or note
            case Links():
                self._names = note.names
                self._keep.named(note.names)
                self._widen(len(note.names))
            case Dialects():
                self._widen(len(note.links))
                for link, (protocol, settings) in zip(self._links, note.links, strict=False):
                    link.speaks(_dialect(protocol, settings))
            case Reconnected() if note.link < len(self._links):
                self._links[note.link].begin_anew()
            case PassBegin():
                self._leave_open()
                self._open, self._before = note, self._marks()
                for link in self._links:
                    link.part()
            case PassEnd() if self._open and self._open.number == note.number:
                self._close(self._open, note.good, note.why)
            case ScanEnd():
                self._end = note

    def finish(self) -> AssembledScan:
        self._decode()
        self._leave_open()
        if self._begin is None:
            raise FileError("there is no scan in it: the note that begins one is missing")
        marks = self._marks()
        return AssembledScan(
            self._begin,
            self._end,
            self._names,
            tuple(_assembled(one, len(marks)) for one in self._passes),
            tuple(self._events),
            tuple(mark.samples for mark in marks),
            tuple(mark.bad_frames for mark in marks),
        )

    def _decode(self) -> None:
        row = len(self._passes) if self._open else NO_ROW
        within = self._open.number if self._open else NO_PASS
        for number, link in enumerate(self._links):
            self._events += [PlacedEvent(event, row, number) for event in link.decode(within)]
        self._waiting_bytes = 0

    def _widen(self, links: int) -> None:
        while len(self._links) < links:
            self._links.append(LinkSoFar(len(self._links), self._keep))
            self._before += (Mark(),)

    def _marks(self) -> tuple[Mark, ...]:
        return tuple(link.mark for link in self._links)

    def _leave_open(self) -> None:
        if self._open:
            self._close(self._open, False, ("interrupted",))

    def _close(self, begin: PassBegin, good: bool, why: tuple[str, ...]) -> None:
        marks = tuple(zip(self._before, self._marks(), strict=True))
        self._passes.append(_Closed(begin, good, why, marks))
        self._open = None


def _dialect(protocol: str, settings: Mapping[str, Any]) -> Dialect:
    try:
        return dialect_of(protocol, settings)
    except (KeyError, TypeError, ValueError) as error:
        raise FileError(
            f"it was recorded over protocol {protocol!r}, which this program does not know as it "
            "is written there; use the program that wrote it, or a newer one"
        ) from error


def _assembled(one: _Closed, links: int) -> AssembledPass:
    # a link first heard of after the pass has none of it
    marks = (*one.marks, *[(Mark(), Mark())] * (links - len(one.marks)))
    return AssembledPass(one.begin, one.good, one.why, tuple(_span(*both) for both in marks))


def _span(before: Mark, after: Mark) -> Span:
    return Span(
        before.samples,
        after.samples - before.samples,
        after.bad_frames - before.bad_frames,
        after.lost - before.lost,
        after.gaps - before.gaps,
    )
