"""A recorded scan of as many samples as wanted, and a neck of formulas."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from daq.record.journal_format import JournalRecord, Kind
from daq.record.notes import PassBegin, PassEnd, ScanBegin, ScanEnd

from .stream import line_bytes

RIG = "name: bench\ncarriage: {mm_per_count: 0.005}\nsensor: {mm_per_count: 0.001}\n"


@pytest.fixture
def recorded() -> Callable[[int], list[JournalRecord]]:
    """The journal records of one pass of so many samples."""

    def make(samples: int) -> list[JournalRecord]:
        data = line_bytes(samples)
        begin = ScanBegin(
            "1", "scan", "strung", "", "", "2026-03-01T10:00:00+01:00", "neckform", RIG, None, {}
        )
        first = PassBegin(0, 1, 1.5, 1, 25.0, (4.0, None), (614.0, None), 12.5, 1)
        return [
            _note(begin.as_note()),
            _note(first.as_note()),
            *(
                JournalRecord(Kind.RX, 10**9 + at, data[at : at + 16_384])
                for at in range(0, len(data), 16_384)
            ),
            _note(PassEnd(0, True, ()).as_note()),
            _note(ScanEnd("done", "").as_note()),
        ]

    return make


@pytest.fixture
def new_path(tmp_path: Path) -> Callable[[], Path]:
    """A name that is not taken, each time."""
    taken = iter(range(1000))
    return lambda: tmp_path / str(next(taken))


def _note(note: dict[str, object]) -> JournalRecord:
    return JournalRecord(Kind.NOTE, 10**9, json.dumps(note).encode())
