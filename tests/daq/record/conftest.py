"""A small scan, made of the protocol's own bytes."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from pathlib import Path

import pytest

from daq.record.journal_format import JournalRecord, Kind, header, pack_record
from daq.record.notes import PassBegin, PassEnd, ScanBegin, ScanEnd
from daq.wire.line import encode

RIG = "name: bench\ncarriage: {mm_per_count: 0.005}\nsensor: {mm_per_count: 0.001}\n"
START_NS = 1_700_000_000_000_000_000


Note = ScanBegin | PassBegin | PassEnd | ScanEnd


def note_record(note: Note) -> JournalRecord:
    return JournalRecord(Kind.NOTE, START_NS, json.dumps(note.as_note()).encode())


@pytest.fixture
def begin() -> ScanBegin:
    return ScanBegin(
        id="2026-03-01-1",
        purpose="scan",
        state="strung",
        label="before the cut",
        job="walnut parlour",
        started="2026-03-01T10:00:00+01:00",
        program="neckform 0.1.0",
        rig_text=RIG,
        instrument_text="name: walnut parlour\n",
        calibration_texts={"rail": '{"knots": []}', "lag": "{}"},
    )


@pytest.fixture
def pass_begin() -> Callable[..., PassBegin]:
    """A pass note with some fields of one's own."""

    def make(number: int, **changed: object) -> PassBegin:
        fields: dict[str, object] = {
            "lane": number // 2,
            "string": 1.5,
            "direction": 1 if number % 2 == 0 else -1,
            "speed_mm_s": 25.0,
            "from_mm": (4.0, None),
            "to_mm": (614.0, None),
            "y_mm": 12.5,
            "attempt": 1,
        }
        return PassBegin(number, **{**fields, **changed})  # type: ignore[arg-type]

    return make


@pytest.fixture
def note() -> Callable[[Note], JournalRecord]:
    """A note as a journal record."""
    return note_record


@pytest.fixture
def records(begin: ScanBegin, pass_begin: Callable[..., PassBegin]) -> list[JournalRecord]:
    """Two passes of 40 samples, cut into chunks that split frames; one frame damaged, two lost,
    an event in the first pass, and samples outside any pass."""
    found = [note_record(begin), JournalRecord(Kind.TX, START_NS, encode.stream(400))]
    stream = encode.accept("G") + sample_run(range(5))
    for number in (0, 1):
        found += chunks(stream, START_NS)
        found.append(note_record(pass_begin(number)))
        seqs = [seq for seq in range(100 * number, 100 * number + 40) if seq not in (110, 111)]
        stream = sample_run(seqs)
        if number == 0:
            stream = b"S,damaged*0000\n" + stream + encode.event(99, "overrange", "knob")
        found += chunks(stream, START_NS + 10**9 * number)
        found.append(note_record(PassEnd(number, number == 0, () if number == 0 else ("gaps",))))
        stream = b"".join(encode.sample(seq, seq, 0, None, 1) for seq in range(3))
    return [*found, note_record(ScanEnd("done", ""))]


def sample_run(seqs: Iterable[int]) -> bytes:
    """Every tenth reading is empty."""
    return b"".join(
        encode.sample(s, 2500 * s, 5 * s, None, None if s % 10 == 9 else 7 * s, 2150) for s in seqs
    )


def chunks(stream: bytes, t_ns: int) -> list[JournalRecord]:
    return [
        JournalRecord(Kind.RX, t_ns + at, stream[at : at + 61]) for at in range(0, len(stream), 61)
    ]


@pytest.fixture
def write_records() -> Callable[[Path, list[JournalRecord]], None]:
    """A journal file of these records, without a writer."""

    def write(path: Path, records: list[JournalRecord]) -> None:
        packed = (pack_record(r.kind, r.t_ns, r.payload) for r in records)
        path.write_bytes(header(1) + b"".join(packed))

    return write
