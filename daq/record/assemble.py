"""Journal records put together into one scan: samples in columns, passes as rows of a table."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from daq.errors import FileError
from daq.record.journal_format import JournalRecord, Kind
from daq.record.notes import Note, PassBegin, PassEnd, ScanBegin, ScanEnd, parse_note
from daq.wire.decode import LineDecoder
from daq.wire.records import Event, SampleBlock, UIntColumn

NO_ROW = -1
_NEVER_ENDED = ScanEnd("interrupted", "the record stops before the scan's end")


@dataclass(frozen=True, slots=True)
class AssembledPass:
    """One pass: samples[first:first + count] of its scan.

    bad_frames: lines dropped while it was open. lost: samples missing by their numbers;
    gaps: places where some are missing.
    """

    begin: PassBegin
    good: bool
    why: tuple[str, ...]
    first: int
    count: int
    bad_frames: int
    lost: int
    gaps: int


@dataclass(frozen=True, slots=True)
class PlacedEvent:
    """An event and the row of the pass it fell into, NO_ROW outside any."""

    event: Event
    row: int


@dataclass(frozen=True, slots=True)
class AssembledScan:
    """A whole scan. samples: all of them, those outside any pass too, in order of arrival."""

    begin: ScanBegin
    end: ScanEnd
    samples: SampleBlock
    passes: tuple[AssembledPass, ...]
    events: tuple[PlacedEvent, ...]
    bad_frames: int


def assemble(records: Iterable[JournalRecord]) -> AssembledScan:
    """Decode the rig's bytes in order; a sample belongs to the pass open when it came.

    A pass without an end is not good, and a scan without one is interrupted.
    FileError: there is no scan_begin among the notes, or a note cannot be understood.
    """
    assembler = _Assembler()
    for record in records:
        if record.kind is Kind.RX:
            assembler.receive(record.payload)
        elif record.kind is Kind.NOTE:
            assembler.heed(parse_note(record.payload))
    return assembler.finish()


def count_lost(seq: UIntColumn) -> tuple[int, int]:
    """(samples lost, places where) by the running number, modulo 2^32."""
    # A number sent twice is no loss: its step of 0 counts as 1.
    missing = np.maximum(np.diff(seq).astype(np.int64), 1) - 1
    return int(missing.sum()), int(np.count_nonzero(missing))


class _Assembler:
    """The state on the way through a journal."""

    def __init__(self) -> None:
        self._decoder = LineDecoder()
        self._begin: ScanBegin | None = None
        self._end = _NEVER_ENDED
        self._blocks: list[SampleBlock] = []
        self._count = 0
        self._events: list[PlacedEvent] = []
        self._bad_frames = 0
        self._passes: list[AssembledPass] = []
        self._open: PassBegin | None = None
        self._open_first = 0
        self._open_bad_before = 0

    def receive(self, data: bytes) -> None:
        batch = self._decoder.feed(data)
        self._blocks.append(batch.samples)
        self._count += len(batch.samples)
        self._bad_frames += batch.bad_frames
        row = len(self._passes) if self._open else NO_ROW
        self._events += [PlacedEvent(event, row) for event in batch.events]

    def heed(self, note: Note | None) -> None:
        match note:
            case ScanBegin():
                self._begin = self._begin or note
            case PassBegin():
                self._leave_open()
                self._open, self._open_first = note, self._count
                self._open_bad_before = self._bad_frames
            case PassEnd() if self._open and self._open.number == note.number:
                self._close(self._open, note.good, note.why)
            case ScanEnd():
                self._end = note

    def finish(self) -> AssembledScan:
        self._leave_open()
        if self._begin is None:
            raise FileError("there is no scan in it: the note that begins one is missing")
        samples = SampleBlock.concatenate(self._blocks)
        passes = tuple(_with_losses(one, samples) for one in self._passes)
        return AssembledScan(
            self._begin, self._end, samples, passes, tuple(self._events), self._bad_frames
        )

    def _leave_open(self) -> None:
        if self._open:
            self._close(self._open, False, ("interrupted",))

    def _close(self, begin: PassBegin, good: bool, why: tuple[str, ...]) -> None:
        first = self._open_first
        bad = self._bad_frames - self._open_bad_before
        self._passes.append(
            AssembledPass(begin, good, why, first, self._count - first, bad, lost=0, gaps=0)
        )
        self._open = None


def _with_losses(one: AssembledPass, samples: SampleBlock) -> AssembledPass:
    lost, gaps = count_lost(samples.seq[one.first : one.first + one.count])
    return AssembledPass(
        one.begin, one.good, one.why, one.first, one.count, one.bad_frames, lost, gaps
    )
