"""Journal records put together into one scan: samples in columns, passes as rows of a table."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from daq.errors import FileError
from daq.record.journal_format import JournalRecord, Kind
from daq.record.merge import Arrived
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
from daq.wire.arrivals import arrivals_ns, timed_by_arrival
from daq.wire.dialect import Dialect
from daq.wire.dialects import dialect_of
from daq.wire.line.dialect import LineDialect
from daq.wire.records import Event, SampleBlock, UIntColumn

NO_ROW = -1
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
    """A whole scan. links: the samples of each, those outside any pass too, in order of arrival.

    link_names: empty for a rig with one link. bad_frames: by link.
    """

    begin: ScanBegin
    end: ScanEnd
    link_names: tuple[str, ...]
    links: tuple[Arrived, ...]
    passes: tuple[AssembledPass, ...]
    events: tuple[PlacedEvent, ...]
    bad_frames: tuple[int, ...]


def assemble(records: Iterable[JournalRecord]) -> AssembledScan:
    """Decode the rig's bytes in order; a sample belongs to the pass open when it came.

    A pass without an end is not good, and a scan without one is interrupted.
    FileError: there is no scan_begin among the notes, or a note cannot be understood.
    """
    assembler = _Assembler()
    for record in records:
        if record.kind is Kind.RX:
            assembler.receive(record)
        elif record.kind is Kind.NOTE:
            assembler.heed(parse_note(record.payload))
    return assembler.finish()


def count_lost(seq: UIntColumn) -> tuple[int, int]:
    """(samples lost, places where) by the running number, modulo 2^32."""
    # A number sent twice is no loss: its step of 0 counts as 1.
    missing = np.maximum(np.diff(seq).astype(np.int64), 1) - 1
    return int(missing.sum()), int(np.count_nonzero(missing))


class _LinkSoFar:
    """One link on the way through a journal.

    Arrivals are decoded together up to the next note: one by one would cost fifty times as much.
    """

    def __init__(self) -> None:
        self.speaks(LineDialect())
        self._waiting: list[JournalRecord] = []
        self._blocks: list[SampleBlock] = []
        self._arrivals: list[NDArray[np.int64]] = [np.empty(0, np.int64)]
        self._count = 0
        self._bad_frames = 0

    @property
    def mark(self) -> tuple[int, int]:
        """(samples, bad frames) decoded so far."""
        return self._count, self._bad_frames

    def speaks(self, dialect: Dialect) -> None:
        """How the device behind it does; told before its first byte."""
        self._dialect = dialect
        self._decoder = dialect.decoder()

    def begin_anew(self) -> None:
        """What comes next has nothing to do with what came before."""
        self._decoder = self._dialect.decoder(skip_first=True)

    def receive(self, record: JournalRecord) -> None:
        self._waiting.append(record)

    def decode(self) -> tuple[Event, ...]:
        """Decodes what was received since; returns the events in it."""
        batch = self._decoder.feed(b"".join(record.payload for record in self._waiting))
        stamps = [(record.t_ns, len(record.payload)) for record in self._waiting]
        arrivals = arrivals_ns(batch, stamps)
        if not self._dialect.has_clock:
            batch = timed_by_arrival(batch, arrivals)
        self._waiting.clear()
        self._blocks.append(batch.samples)
        self._arrivals.append(arrivals)
        self._count += len(batch.samples)
        self._bad_frames += batch.bad_frames
        return batch.events

    def finish(self) -> Arrived:
        return Arrived(SampleBlock.concatenate(self._blocks), np.concatenate(self._arrivals))


@dataclass(frozen=True, slots=True)
class _Closed:
    """A pass whose samples are not yet together. marks: by link, before it and after it."""

    begin: PassBegin
    good: bool
    why: tuple[str, ...]
    marks: tuple[tuple[tuple[int, int], tuple[int, int]], ...]


class _Assembler:
    """The state on the way through a journal."""

    def __init__(self) -> None:
        self._links = [_LinkSoFar()]
        self._names: tuple[str, ...] = ()
        self._begin: ScanBegin | None = None
        self._end = _NEVER_ENDED
        self._events: list[PlacedEvent] = []
        self._passes: list[_Closed] = []
        self._open: PassBegin | None = None
        self._before: tuple[tuple[int, int], ...] = ()

    def receive(self, record: JournalRecord) -> None:
        self._widen(record.link + 1)
        self._links[record.link].receive(record)

    def heed(self, note: Note | None) -> None:
        self._decode()
        match note:
            case ScanBegin():
                self._begin = self._begin or note
            case Links():
                self._names = note.names
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
            case PassEnd() if self._open and self._open.number == note.number:
                self._close(self._open, note.good, note.why)
            case ScanEnd():
                self._end = note

    def finish(self) -> AssembledScan:
        self._decode()
        self._leave_open()
        if self._begin is None:
            raise FileError("there is no scan in it: the note that begins one is missing")
        links = tuple(link.finish() for link in self._links)
        return AssembledScan(
            self._begin,
            self._end,
            self._names,
            links,
            tuple(_with_losses(one, links) for one in self._passes),
            tuple(self._events),
            tuple(bad for _, bad in self._marks()),
        )

    def _decode(self) -> None:
        row = len(self._passes) if self._open else NO_ROW
        for number, link in enumerate(self._links):
            self._events += [PlacedEvent(event, row, number) for event in link.decode()]

    def _widen(self, links: int) -> None:
        while len(self._links) < links:
            self._links.append(_LinkSoFar())
            self._before += ((0, 0),)

    def _marks(self) -> tuple[tuple[int, int], ...]:
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


def _with_losses(one: _Closed, links: tuple[Arrived, ...]) -> AssembledPass:
    # a link first heard of after the pass has none of it
    marks = (*one.marks, *[((0, 0), (0, 0))] * (len(links) - len(one.marks)))
    spans = tuple(_span(*both, link) for both, link in zip(marks, links, strict=True))
    return AssembledPass(one.begin, one.good, one.why, spans)


def _span(before: tuple[int, int], after: tuple[int, int], link: Arrived) -> Span:
    first, count = before[0], after[0] - before[0]
    lost, gaps = count_lost(link.samples.seq[first : first + count])
    return Span(first, count, after[1] - before[1], lost, gaps)
