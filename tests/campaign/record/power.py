"""What a power cut leaves of a journal: its end missing, or its last block never written."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from daq.record.journal_format import JournalRecord, Kind, header, pack_record
from daq.record.notes import PassBegin, PassEnd
from daq.record.raw import records_of
from daq.record.recover import recover

from .lineframes import line_frames
from .longjournal import BEGIN

BLOCK = 4096
PASSES = 4
RECORDS_A_PASS = 40


@dataclass(frozen=True)
class Cut:
    """kind: how the end was spoilt. kept, whole: records in the scan file, and that were whole in
    the journal before the damage."""

    kind: str
    at: int
    kept: int
    whole: int


def journal_records() -> Iterator[JournalRecord]:
    """A scan of a few passes, without its end."""
    yield _note(BEGIN.as_note())
    for number in range(PASSES):
        yield _note(_pass(number).as_note())
        for piece in range(RECORDS_A_PASS):
            n = 2000 * number + 50 * piece + np.arange(50)
            data, _ = line_frames([n, 2500 * n, 12 * n, -n, 1500 + n % 7])
            yield JournalRecord(Kind.RX, 10**6 * int(n[0]), data)
        yield _note(PassEnd(number, True, ()).as_note())


def cut_one(folder: Path, records: list[JournalRecord], random: np.random.Generator) -> Cut:
    """Spoils the end of a journal of these records and recovers it."""
    packed = [pack_record(one.kind, one.t_ns, one.payload) for one in records]
    ends = len(header(1)) + np.cumsum([len(one) for one in packed])
    data = bytearray(header(1) + b"".join(packed))
    at = int(random.integers(0, len(data)))
    kind = str(random.choice(["cut", "zeros", "rubbish"]))
    first_bad = at if kind == "cut" else at // BLOCK * BLOCK
    data = data[:at]
    if kind != "cut":
        spoilt = at - first_bad
        data[first_bad:] = bytes(spoilt) if kind == "zeros" else random.bytes(spoilt)
    whole = int(np.searchsorted(ends, first_bad, "right"))
    journal = folder / "a.journal"
    journal.write_bytes(data)
    (found,) = recover(folder)
    kept = []
    if found.scan is None:
        assert not whole, found.why
        assert journal.read_bytes() == bytes(data)
        journal.unlink()
    else:
        kept = list(records_of(found.scan.path))
        found.scan.path.unlink()
    assert not list(folder.iterdir())
    assert kept == records[: len(kept)]
    return Cut(kind, at, len(kept), whole)


def _pass(number: int) -> PassBegin:
    return PassBegin(number, 0, 1.5, 1, 25.0, (4.0, None), (614.0, None), 0.0, 1)


def _note(note: object) -> JournalRecord:
    return JournalRecord(Kind.NOTE, 0, json.dumps(note).encode())
