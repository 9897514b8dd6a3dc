"""Samples kept in memory, for tests that look at them."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from daq.record.assemble import AssembledScan, assemble
from daq.record.journal_format import JournalRecord
from daq.record.merge import Arrived
from daq.wire.records import SampleBlock


class Collected:
    """Everything that came, by link."""

    def __init__(self) -> None:
        self._pieces: list[list[tuple[SampleBlock, NDArray[np.int64]]]] = [[], []]

    def named(self, names: tuple[str, ...]) -> None:
        """Of no interest here."""

    def add(
        self, link: int, samples: SampleBlock, arrival_ns: NDArray[np.int64], pass_number: int
    ) -> None:
        self._pieces[link].append((samples, arrival_ns))

    def link(self, number: int) -> Arrived:
        blocks = SampleBlock.concatenate(block for block, _ in self._pieces[number])
        came = [np.empty(0, np.int64), *(stamps for _, stamps in self._pieces[number])]
        return Arrived(blocks, np.concatenate(came))


def collect(records: Iterable[JournalRecord]) -> tuple[AssembledScan, tuple[Arrived, ...]]:
    """A scan, and the samples of each of its links."""
    kept = Collected()
    scan = assemble(records, kept)
    return scan, tuple(kept.link(number) for number in range(len(scan.samples)))
