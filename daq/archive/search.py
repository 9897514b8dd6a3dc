"""Searching: what is asked, and one pass over the table that answers it."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from typing import Any

from daq.archive.lookup import folded
from daq.archive.rows import SCAN_COLUMNS, ScanRow, scan_row


@dataclass(frozen=True, slots=True)
class Query:
    """What is asked for: all of it at once; case does not matter.

    words: each must stand somewhere in the file's url, its scan's id, job, instrument, state or
    rig, or its fault. job, instrument, state, rig: the whole name. since, until: ISO dates, times
    or beginnings of them, in UTC; until includes all that begins with it: 2024 is to the end of
    2024. A scan without a time is in no such span. faulty: only those with a fault, or without.
    limit: no more than so many rows, the newest; None is all.
    """

    words: tuple[str, ...] = ()
    job: str | None = None
    instrument: str | None = None
    state: str | None = None
    rig: str | None = None
    since: str | None = None
    until: str | None = None
    faulty: bool | None = None
    limit: int | None = None


@dataclass(frozen=True, slots=True)
class Found:
    """rows: newest first, those without a time last. count: of all that fit, shown or not."""

    rows: tuple[ScanRow, ...]
    count: int


def search(db: sqlite3.Connection, query: Query) -> Found:
    """The files that fit. Raises sqlite3.Error."""
    where, values = _where(query)
    columns = ", ".join(f"scans.{name}" for name in SCAN_COLUMNS)
    page = f"SELECT made, url FROM lookup WHERE {where} ORDER BY made DESC, url DESC LIMIT ?"
    limit = -1 if query.limit is None else query.limit
    chosen = db.execute(
        f"SELECT {columns} FROM ({page}) AS page CROSS JOIN scans ON scans.url = page.url "
        "ORDER BY page.made DESC, page.url DESC",
        (*values, limit),
    )
    rows = tuple(map(scan_row, chosen))
    if query.limit is None or len(rows) < query.limit:
        return Found(rows, len(rows))
    (count,) = db.execute(f"SELECT count(*) FROM lookup WHERE {where}", values).fetchone()
    return Found(rows, int(count))


def _where(query: Query) -> tuple[str, tuple[Any, ...]]:
    """A condition on the table `lookup`, and what stands in its places."""
    parts: list[tuple[str, Any]] = []
    if query.since is not None:
        parts.append(("made >= ?", query.since))
    if query.until is not None:
        # the last of all that begins with it; no time begins with a later sign than these
        parts.append(("made <= ? AND made <> ''", f"{query.until}~"))
    for name in ("job", "instrument", "state", "rig"):
        asked = getattr(query, name)
        if asked is not None:
            parts.append((f"{name} = ?", folded(asked)))
    if query.faulty is not None:
        parts.append(("faulty = ?", int(query.faulty)))
    parts += [("instr(words, ?)", folded(word)) for word in query.words if word]
    where = " AND ".join(part for part, _ in parts) or "1"
    return where, tuple(value for _, value in parts)


def names_of(db: sqlite3.Connection, column: str) -> list[str]:
    """Every instrument, rig, job or state that the archive knows. Raises sqlite3.Error."""
    assert column in ("instrument", "rig", "job", "state"), column
    found = db.execute(
        f"SELECT DISTINCT {column} FROM scans WHERE {column} IS NOT NULL ORDER BY {column}"
    )
    return [str(name) for (name,) in found]
