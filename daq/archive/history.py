"""From the archive's file: the rows that one instrument's or one rig's years are made of."""

from __future__ import annotations

import sqlite3

from daq.archive.rig_years import RigYears, rig_years
from daq.archive.rows import READING_COLUMNS, SCAN_COLUMNS, ReadingRow, ScanRow, scan_row
from daq.archive.search import names_of
from daq.archive.years import InstrumentYears, instrument_years
from daq.errors import InputError

_MOST_NAMED = 12


def years_of_instrument(db: sqlite3.Connection, name: str) -> InstrumentYears:
    """Raises InputError that names the instruments there are, sqlite3.Error."""
    known = _known(db, "instrument", name)
    columns = ", ".join(f"readings.{column}" for column in READING_COLUMNS)
    readings = db.execute(
        f"SELECT {columns} FROM readings JOIN scans USING (url) "
        "WHERE scans.instrument = ? AND readings.outcome = 'read'",
        (known,),
    )
    return instrument_years(
        known, _scans(db, "instrument", known), [ReadingRow(*row) for row in readings]
    )


def years_of_rig(db: sqlite3.Connection, name: str) -> RigYears:
    """Raises InputError that names the rigs there are, sqlite3.Error."""
    known = _known(db, "rig", name)
    return rig_years(known, _scans(db, "rig", known))


def _scans(db: sqlite3.Connection, column: str, name: str) -> list[ScanRow]:
    columns = ", ".join(SCAN_COLUMNS)
    return [*map(scan_row, db.execute(f"SELECT {columns} FROM scans WHERE {column} = ?", (name,)))]


def _known(db: sqlite3.Connection, column: str, name: str) -> str:
    """The name as the archive has it, whatever its case in the question."""
    names = names_of(db, column)
    if name in names:
        return name
    alike = [one for one in names if one.casefold() == name.casefold()]
    if alike:
        return alike[0]
    shown = ", ".join(names[:_MOST_NAMED]) + (", …" if len(names) > _MOST_NAMED else "")
    there = f"there are: {shown}" if names else f"no file in it names {_an(column)}"
    raise InputError(f"{column} {name!r}: found none of that name in the archive; {there}")


def _an(noun: str) -> str:
    return f"{'an' if noun[0] in 'aeiou' else 'a'} {noun}"
