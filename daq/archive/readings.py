"""The archive's table of readings: written in batches, read in pairs."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import astuple, dataclass, fields
from datetime import UTC, datetime
from itertools import groupby
from typing import Any

from daq.archive.below import below
from daq.archive.changes import Kept
from daq.archive.reading import Reading

#: Rows taken from the database at a time.
PAGE = 500
_COLUMNS = ", ".join(field.name for field in fields(Reading))
_PUT = (
    f"INSERT OR REPLACE INTO readings ({_COLUMNS}, read_at) "
    f"VALUES ({', '.join('?' * (len(fields(Reading)) + 1))})"
)


@dataclass(frozen=True, slots=True)
class Known:
    """A scan as the archive knows it."""

    url: str
    scan_id: str | None
    rig: str | None


def put_readings(database: sqlite3.Connection, readings: Sequence[Reading]) -> None:
    """All of a batch or none of it; an earlier fault read the same way gives place."""
    now = datetime.now(UTC).isoformat(timespec="milliseconds")
    with database:
        database.executemany(_PUT, [(*astuple(one), now) for one in readings])


def scans_under(database: sqlite3.Connection, folders: Sequence[str]) -> Iterator[Known]:
    """Scans that are no duplicates, by url; under these folders, or all. A damaged one is among
    them: it may have been put right."""
    where, given = below(folders)
    last = ""
    while True:
        page = database.execute(
            "SELECT url, scan_id, rig FROM scans WHERE (kind = 'scan' OR fault IS NOT NULL) "
            f"AND duplicate_of IS NULL AND url > ? AND {where} ORDER BY url LIMIT {PAGE}",
            (last, *given),
        ).fetchall()
        yield from (Known(*row) for row in page)
        if len(page) < PAGE:
            return
        last = page[-1][0]


def counted(database: sqlite3.Connection, folders: Sequence[str]) -> tuple[int, int]:
    """How many scans there are to read under these folders, and how many duplicates."""
    where, given = below(folders)
    first, second = (
        database.execute(
            "SELECT COUNT(*) FROM scans WHERE (kind = 'scan' OR fault IS NOT NULL) "
            f"AND duplicate_of IS {kind} AND {where}",
            given,
        ).fetchone()[0]
        for kind in ("NULL", "NOT NULL")
    )
    return first, second


def is_read(database: sqlite3.Connection, scan: Known, way: str) -> bool:
    """Whether this very scan was read this way; a fault is no reading."""
    found = database.execute(
        "SELECT 1 FROM readings WHERE url = ? AND way = ? AND outcome = 'read' AND scan_id IS ?",
        (scan.url, way, scan.scan_id),
    )
    return found.fetchone() is not None


def pairs(database: sqlite3.Connection) -> Iterator[tuple[Kept | None, Kept]]:
    """Each scan's reading before the latest, None where there is none, and its latest; by url."""
    rows = _all_by_url(database)
    for _, of_url in groupby(rows, key=lambda row: row[0]):
        *_, latest = before = [_kept(row) for row in of_url]
        yield (before[-2] if len(before) > 1 else None), latest


def _all_by_url(database: sqlite3.Connection) -> Iterator[tuple[Any, ...]]:
    yield from database.execute(
        "SELECT url, scan_id, way, outcome, fault, wear_um, document, read_at FROM readings "
        "ORDER BY url, read_at, rowid"
    )


def _kept(row: tuple[Any, ...]) -> Kept:
    url, scan_id, way, outcome, fault, wear_um, document, read_at = row
    return Kept(url, scan_id, way, read_at, outcome == "read", fault, wear_um, json.loads(document))
