"""One link on the way through a journal: its bytes decoded, its samples handed on and counted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from daq.record.journal_format import JournalRecord
from daq.wire.arrivals import arrivals_ns, timed_by_arrival
from daq.wire.dialect import Dialect
from daq.wire.line.dialect import LineDialect
from daq.wire.records import Event, SampleBlock, UIntColumn


class Keep(Protocol):
    """Where the samples go as they are decoded: an hour of them is too much for one's memory."""

    def named(self, names: tuple[str, ...]) -> None:
        """The links' names, where there are two: told before any of their samples."""

    def add(
        self, link: int, samples: SampleBlock, arrival_ns: NDArray[np.int64], pass_number: int
    ) -> None:
        """More samples of a link. arrival_ns: int64[n], when each came. pass_number: the pass
        they belong to, -1 outside any."""


@dataclass(frozen=True, slots=True)
class Mark:
    """So much has come so far. lost, gaps: counted from sample to sample since `part`."""

    samples: int = 0
    bad_frames: int = 0
    lost: int = 0
    gaps: int = 0


def count_lost(seq: UIntColumn) -> tuple[int, int]:
    """(samples lost, places where) by the running number, modulo 2^32."""
    # A number sent twice is no loss: its step of 0 counts as 1.
    missing = np.maximum(np.diff(seq).astype(np.int64), 1) - 1
    return int(missing.sum()), int(np.count_nonzero(missing))


class LinkSoFar:
    """Arrivals are decoded many together: one by one would cost fifty times as much."""

    def __init__(self, number: int, keep: Keep) -> None:
        self._number = number
        self._keep = keep
        self.speaks(LineDialect())
        self._waiting: list[JournalRecord] = []
        self._last_seq = np.empty(0, np.uint32)
        self.mark = Mark()

    def speaks(self, dialect: Dialect) -> None:
        """How the device behind it does; told before its first byte."""
        self._dialect = dialect
        self._decoder = dialect.decoder()

    def begin_anew(self) -> None:
        """What comes next has nothing to do with what came before."""
        self._decoder = self._dialect.decoder(skip_first=True)

    def part(self) -> None:
        """A pass begins: what is missing before its first sample is not its loss."""
        self._last_seq = np.empty(0, np.uint32)

    def receive(self, record: JournalRecord) -> None:
        """More bytes; decoded when it is asked for."""
        self._waiting.append(record)

    def decode(self, pass_number: int) -> tuple[Event, ...]:
        """Decodes what was received since; returns the events in it."""
        batch = self._decoder.feed(b"".join(record.payload for record in self._waiting))
        stamps = [(record.t_ns, len(record.payload)) for record in self._waiting]
        arrivals = arrivals_ns(batch, stamps)
        if not self._dialect.has_clock:
            batch = timed_by_arrival(batch, arrivals)
        self._waiting.clear()
        if len(batch.samples):
            self._keep.add(self._number, batch.samples, arrivals, pass_number)
        self._count(batch.samples, batch.bad_frames)
        return batch.events

    def _count(self, samples: SampleBlock, bad_frames: int) -> None:
        lost, gaps = count_lost(np.concatenate([self._last_seq, samples.seq]))
        if len(samples):
            self._last_seq = samples.seq[-1:]
        so_far = self.mark
        self.mark = Mark(
            so_far.samples + len(samples),
            so_far.bad_frames + bad_frames,
            so_far.lost + lost,
            so_far.gaps + gaps,
        )
