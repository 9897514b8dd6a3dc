"""The journal's records inside a scan file: every byte, in order, with its time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from daq.record.hdf5 import Group, new_group, put_bytes, put_column, read_file
from daq.record.journal_format import JournalRecord, Kind

REST = "sent_and_notes"
FROM_LINKS = ("bytes", "carriage_bytes")
"""What each link sent: the sensor's, and the carriage's where it has one of its own."""


def put_raw(entry: Group, records: Sequence[JournalRecord], links: int) -> None:
    """/raw: what each link sent as one unbroken run of bytes, the rest beside it, and the table
    that says which record is where."""
    raw = new_group(entry, "raw", "NXcollection")
    run = [_run(record) for record in records]
    for name in (*FROM_LINKS[:links], REST):
        mine = (r.payload for r, its in zip(records, run, strict=True) if its == name)
        put_bytes(raw, name, b"".join(mine))
    kind = np.array([record.kind for record in records], np.uint8)
    length = np.array([len(record.payload) for record in records], np.uint64)
    put_column(raw, "kind", kind, meaning="1 from the rig, 2 to the rig, 3 note")
    put_column(raw, "t_ns", np.array([r.t_ns for r in records], np.int64), units="ns")
    where = f"in {', or in '.join((*FROM_LINKS[:links], REST))}"
    put_column(raw, "offset", _offsets(run, length), meaning=where)
    put_column(raw, "length", length)
    if links > 1:
        number = np.array([record.link for record in records], np.uint8)
        put_column(raw, "link", number, meaning="0 the sensor's, 1 the carriage's")


def _run(record: JournalRecord) -> str:
    """Which run its payload is in."""
    return FROM_LINKS[record.link] if record.kind is Kind.RX else REST


def _offsets(run: list[str], length: NDArray[np.uint64]) -> NDArray[np.uint64]:
    """Where each payload starts in its own run."""
    offset = np.zeros_like(length)
    its = np.array(run, dtype=np.str_)
    for name in (*FROM_LINKS, REST):
        mine = its == name
        offset[mine] = np.cumsum(length[mine]) - length[mine]
    return offset


def records_of(path: Path) -> Iterator[JournalRecord]:
    """The journal a scan file was built from, record by record.

    FileError: as `read_scan`.
    """
    yield from read_file(path, _read_records)


def _read_records(file: Group) -> list[JournalRecord]:
    raw = file["entry/raw"]
    runs = {name: raw[name][()].tobytes() for name in (*FROM_LINKS, REST) if name in raw}
    table = [raw[name][()].tolist() for name in ("kind", "t_ns", "offset", "length")]
    link = raw["link"][()].tolist() if "link" in raw else [0] * len(table[0])
    records = []
    for number, t_ns, offset, length, its in zip(*table, link, strict=True):
        record = JournalRecord(Kind(number), t_ns, b"", its)
        payload = runs[_run(record)][offset : offset + length]
        records.append(JournalRecord(record.kind, t_ns, payload, its))
    if sum(table[3]) != sum(map(len, runs.values())):
        raise ValueError("the raw bytes and their table do not agree")
    return records
