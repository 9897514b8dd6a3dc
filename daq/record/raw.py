"""The journal's records inside a scan file: every byte, in order, with its time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from daq.record.hdf5 import Group, new_group, put_bytes, put_column, read_file
from daq.record.journal_format import JournalRecord, Kind


def put_raw(entry: Group, records: Sequence[JournalRecord]) -> None:
    """/raw: what the rig sent as one unbroken run of bytes, the rest beside it, and the table
    that says which record is where."""
    raw = new_group(entry, "raw", "NXcollection")
    from_rig = b"".join(r.payload for r in records if r.kind is Kind.RX)
    rest = b"".join(r.payload for r in records if r.kind is not Kind.RX)
    put_bytes(raw, "bytes", from_rig)
    put_bytes(raw, "sent_and_notes", rest)
    kind = np.array([record.kind for record in records], np.uint8)
    length = np.array([len(record.payload) for record in records], np.uint64)
    put_column(raw, "kind", kind, meaning="1 from the rig, 2 to the rig, 3 note")
    put_column(raw, "t_ns", np.array([r.t_ns for r in records], np.int64), units="ns")
    put_column(raw, "offset", _offsets(kind, length), meaning="in bytes, or in sent_and_notes")
    put_column(raw, "length", length)


def _offsets(kind: NDArray[np.uint8], length: NDArray[np.uint64]) -> NDArray[np.uint64]:
    """Where each payload starts in its own run."""
    offset = np.zeros_like(length)
    for mine in (kind == Kind.RX, kind != Kind.RX):
        offset[mine] = np.cumsum(length[mine]) - length[mine]
    return offset


def records_of(path: Path) -> Iterator[JournalRecord]:
    """The journal a scan file was built from, record by record.

    FileError: as `read_scan`.
    """
    yield from read_file(path, _read_records)


def _read_records(file: Group) -> list[JournalRecord]:
    raw = file["entry/raw"]
    from_rig, rest = raw["bytes"][()].tobytes(), raw["sent_and_notes"][()].tobytes()
    table = [raw[name][()].tolist() for name in ("kind", "t_ns", "offset", "length")]
    records = []
    for number, t_ns, offset, length in zip(*table, strict=True):
        kind = Kind(number)
        run = from_rig if kind is Kind.RX else rest
        records.append(JournalRecord(kind, t_ns, run[offset : offset + length]))
    if sum(table[3]) != len(from_rig) + len(rest):
        raise ValueError("the raw bytes and their table do not agree")
    return records
