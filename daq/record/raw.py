"""The journal's records inside a scan file: every byte, in order, with its time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from daq.record.growing import GrowingColumn
from daq.record.hdf5 import Group, new_group, put_column, reading
from daq.record.journal_format import JournalRecord, Kind

REST = "sent_and_notes"
FROM_LINKS = ("bytes", "carriage_bytes")
"""What each link sent: the sensor's, and the carriage's where it has one of its own."""
RECORDS_AT_ONCE = 4096
READ_AT_ONCE = 2**20


class RawStore:
    """/entry/raw: what each link sent as one unbroken run of bytes, the rest beside it, and the
    table that says which record is where."""

    def __init__(self, entry: Group) -> None:
        self._group = new_group(entry, "raw", "NXcollection")
        self._runs: dict[str, GrowingColumn] = {}
        self._sizes: dict[str, int] = {}
        self._table = {
            "kind": GrowingColumn(
                self._group, "kind", np.uint8, meaning="1 from the rig, 2 to the rig, 3 note"
            ),
            "t_ns": GrowingColumn(self._group, "t_ns", np.int64, units="ns"),
            "offset": GrowingColumn(self._group, "offset", np.uint64),
            "length": GrowingColumn(self._group, "length", np.uint64),
        }
        self._links: list[NDArray[np.uint8]] = []
        self._waiting: list[JournalRecord] = []

    def kept(self, records: Iterable[JournalRecord]) -> Iterator[JournalRecord]:
        """The records as they are, each kept on its way."""
        for record in records:
            self._waiting.append(record)
            if len(self._waiting) == RECORDS_AT_ONCE:
                self._write()
            yield record

    def finish(self, links: int) -> None:
        """The rig has so many links, and there are no more records."""
        self._write()
        names = (*FROM_LINKS[:links], REST)
        for name in names:
            self._run(name).finish()
        for column in self._table.values():
            column.finish()
        self._group["offset"].attrs["meaning"] = f"in {', or in '.join(names)}"
        if links > 1:
            number = np.concatenate(self._links)
            put_column(self._group, "link", number, meaning="0 the sensor's, 1 the carriage's")

    def _write(self) -> None:
        records, self._waiting = self._waiting, []
        for name in (*FROM_LINKS, REST):
            mine = b"".join(r.payload for r in records if _run_of(r) == name)
            if mine:
                self._run(name).add(np.frombuffer(mine, np.uint8))
        self._table["kind"].add(np.array([r.kind for r in records], np.uint8))
        self._table["t_ns"].add(np.array([r.t_ns for r in records], np.int64))
        self._table["offset"].add(np.array([self._place(r) for r in records], np.uint64))
        self._table["length"].add(np.array([len(r.payload) for r in records], np.uint64))
        self._links.append(np.array([r.link for r in records], np.uint8))

    def _run(self, name: str) -> GrowingColumn:
        if name not in self._runs:
            self._runs[name] = GrowingColumn(self._group, name, np.uint8)
        return self._runs[name]

    def _place(self, record: JournalRecord) -> int:
        """Where its payload starts in its run."""
        name = _run_of(record)
        place = self._sizes.get(name, 0)
        self._sizes[name] = place + len(record.payload)
        return place


def records_of(path: Path) -> Iterator[JournalRecord]:
    """The journal a scan file was built from, record by record.

    FileError: as `read_scan`.
    """
    with reading(path) as file:
        yield from _read_records(file["entry/raw"])


def _read_records(raw: Group) -> Iterator[JournalRecord]:
    runs = {name: _Run(raw[name]) for name in (*FROM_LINKS, REST) if name in raw}
    table = [raw[name] for name in ("kind", "t_ns", "offset", "length")]
    if sum(run.size for run in runs.values()) != int(table[3][()].sum()):
        raise ValueError("the raw bytes and their table do not agree")
    for first in range(0, len(table[0]), RECORDS_AT_ONCE):
        rows = slice(first, first + RECORDS_AT_ONCE)
        columns = [column[rows].tolist() for column in table]
        links = raw["link"][rows].tolist() if "link" in raw else [0] * len(columns[0])
        for number, t_ns, offset, length, link in zip(*columns, links, strict=True):
            run = runs[_run_name(Kind(number), link)]
            yield JournalRecord(Kind(number), t_ns, run.at(offset, length), link)


def _run_of(record: JournalRecord) -> str:
    """Which run its payload is in."""
    return _run_name(record.kind, record.link)


def _run_name(kind: Kind, link: int) -> str:
    return FROM_LINKS[link] if kind is Kind.RX else REST


class _Run:
    """A run of bytes, read a piece at a time: it is read from its beginning to its end."""

    def __init__(self, dataset: Group) -> None:
        self._dataset = dataset
        self.size = int(dataset.size)
        self._from, self._piece = 0, b""

    def at(self, offset: int, length: int) -> bytes:
        """So many bytes from here; fewer where there are fewer."""
        if not self._from <= offset <= offset + length <= self._from + len(self._piece):
            until = offset + max(length, READ_AT_ONCE)
            self._from, self._piece = offset, self._dataset[offset:until].tobytes()
        return self._piece[offset - self._from : offset - self._from + length]
