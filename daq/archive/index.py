"""Indexing: what is under the folders against what the archive knows; only what differs is opened.

A file that cannot be read gets its row and says why; a folder that cannot be listed is named, and
what the archive knew of it stays.
"""

from __future__ import annotations

import sqlite3
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from daq.archive.below import below
from daq.archive.engines.pool import Pool
from daq.archive.head import killed_row, rows_of
from daq.archive.places import Listing, NotSeen, Seen, list_place
from daq.archive.rows import SCAN_COLUMNS, ScanRow, put_scan, scan_row, scan_values
from daq.record.hdf5 import VERSION, FaultKind

#: Rows that are written together: so many are lost to a kill at most.
_AT_ONCE: Final = 200
#: Files that a worker opens at a time, and how many are worth starting workers for.
_GROUP: Final = 16
_MANY: Final = 200

Tell = Callable[[int, int], None]
"""Told how many files of how many were opened."""


@dataclass(frozen=True, slots=True)
class Indexed:
    """What indexing came to.

    found: files under the places. opened: of those, new or changed. gone: taken out. scans: of
    necks and readable; others: readable scans made for calibrations. faulty, duplicates: rows of
    the files found that have a fault, or are a scan that another file is already. not_listed:
    folders that could not be.
    """

    found: int
    opened: int
    gone: int
    scans: int
    others: int
    faulty: tuple[ScanRow, ...]
    duplicates: tuple[ScanRow, ...]
    not_listed: tuple[NotSeen, ...]

    @property
    def faults(self) -> Mapping[str, int]:
        """How many of each kind."""
        return dict(sorted(Counter(str(row.fault_kind) for row in self.faulty).items()))


def index(
    db: sqlite3.Connection, places: Iterable[str], tell: Tell | None = None, workers: int = 1
) -> Indexed:
    """Bring the archive up to date with what is under these places. Raises sqlite3.Error.

    workers: processes that open files, where many are to be opened.
    """
    listings = [_believed(db, list_place(place)) for place in places]
    files = {seen.url: seen for listing in listings for seen in listing.files}
    gone = [url for listing in listings for url in _gone(db, listing, files)]
    todo = _to_open(db, files)
    _take_out(db, gone)
    _open_all(db, todo, tell, workers)
    if todo or gone:
        _name_duplicates(db)
    return _told(db, files, len(todo), len(gone), listings)


def _believed(db: sqlite3.Connection, listing: Listing) -> Listing:
    """Where nothing is any more a share is not mounted, as far as anybody can know."""
    if listing.files or listing.faults:
        return listing
    where, given = below([listing.root])
    (known,) = db.execute(f"SELECT count(*) FROM scans WHERE {where}", given).fetchone()
    if not known:
        return listing
    why = (
        f"holds no scan, and the archive knows {known} there: kept; is it mounted? "
        "Where they are meant to be gone, index the folder above it"
    )
    return Listing(listing.root, (), (NotSeen(listing.root, why),))


def _gone(db: sqlite3.Connection, listing: Listing, files: Mapping[str, Seen]) -> list[str]:
    """Urls under the place that are not there any more, but for those in folders not listed."""
    where, given = below([listing.root])
    known = db.execute(f"SELECT url FROM scans WHERE {where}", given)
    unsure = tuple(f"{fault.url.rstrip('/')}/" for fault in listing.faults)
    return [url for (url,) in known if url not in files and not url.startswith(unsure)]


def _to_open(db: sqlite3.Connection, files: Mapping[str, Seen]) -> list[Seen]:
    """New or changed ones, and those of a version that an older program could not read."""
    known = {
        url: (size, changed, fault or "")
        for url, size, changed, fault in db.execute("SELECT url, size, changed, fault FROM scans")
        if url in files
    }

    def is_known(seen: Seen) -> bool:
        size, changed, fault = known.get(seen.url, (-1, "", ""))
        newer = fault.startswith(f"{FaultKind.NEWER}:")
        return (size, changed) == (seen.size, seen.changed) and not (
            newer and f"reads up to {VERSION};" not in fault
        )

    return [seen for seen in files.values() if not is_known(seen)]


def _take_out(db: sqlite3.Connection, urls: Sequence[str]) -> None:
    """What was read from a file goes with it."""
    with db:
        for table in ("scans", "readings"):
            db.executemany(f"DELETE FROM {table} WHERE url = ?", ((url,) for url in urls))


def _open_all(
    db: sqlite3.Connection, todo: Sequence[Seen], tell: Tell | None, workers: int
) -> None:
    rows: list[ScanRow] = []
    opened = 0
    for more in _rows(todo, workers):
        rows += more
        opened += len(more)
        if tell is not None:
            tell(opened, len(todo))
        if len(rows) >= _AT_ONCE or opened == len(todo):
            _put(db, rows)
            rows = []


def _rows(todo: Sequence[Seen], workers: int) -> Iterator[list[ScanRow]]:
    """In any order of the groups."""
    groups = (tuple(todo[at : at + _GROUP]) for at in range(0, len(todo), _GROUP))
    if workers == 1 or len(todo) < _MANY:
        return map(rows_of, groups)
    return Pool(workers, rows_of, killed_row).map(groups)


def _put(db: sqlite3.Connection, rows: Sequence[ScanRow]) -> None:
    with db:
        db.executemany(put_scan(), map(scan_values, rows))
        # they were of what stood in the file before
        db.executemany("DELETE FROM readings WHERE url = ?", ((row.url,) for row in rows))


def _name_duplicates(db: sqlite3.Connection) -> None:
    """The first by url is the scan, whatever the order of indexing; the others are copies."""
    first = "(SELECT min(url) FROM scans AS other WHERE other.scan_id = scans.scan_id)"
    with db:
        db.execute(
            f"UPDATE scans SET duplicate_of = nullif({first}, url) "
            f"WHERE duplicate_of IS NOT nullif({first}, url)"
        )


def _told(
    db: sqlite3.Connection,
    files: Mapping[str, Seen],
    opened: int,
    gone: int,
    listings: Sequence[Listing],
) -> Indexed:
    columns = ", ".join(SCAN_COLUMNS)
    odd = db.execute(
        f"SELECT {columns} FROM scans WHERE fault IS NOT NULL OR duplicate_of IS NOT NULL "
        "ORDER BY url"
    )
    rows = [row for row in map(scan_row, odd) if row.url in files]
    kinds = Counter(
        kind
        for url, kind in db.execute("SELECT url, kind FROM scans WHERE fault IS NULL")
        if url in files
    )
    return Indexed(
        found=len(files),
        opened=opened,
        gone=gone,
        scans=kinds["scan"],
        others=kinds["other"],
        faulty=tuple(row for row in rows if row.fault is not None),
        duplicates=tuple(row for row in rows if row.duplicate_of is not None),
        not_listed=tuple(fault for listing in listings for fault in listing.faults),
    )
