"""The archive's file: one SQLite database that whoever indexes, searches and reads again shares."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Final

from daq.archive.lookup import LOOKUP, folded, folded_words
from daq.errors import FileError, InputError

VERSION: Final = 1
#: Another process that writes is waited for this long.
_WAIT_S: Final = 30.0

SCHEMA: Final = f"""
CREATE TABLE scans (
  url TEXT PRIMARY KEY, size INTEGER, changed TEXT, kind TEXT, fault TEXT, scan_id TEXT, job TEXT,
  state TEXT, made TEXT, instrument TEXT, strings INT, frets INT, rig TEXT, rod_turns REAL,
  celsius REAL, lost REAL, damaged REAL, noise_um REAL, duplicate_of TEXT, seen TEXT
);
CREATE TABLE readings (
  url TEXT, scan_id TEXT, way TEXT, outcome TEXT, fault TEXT, relief_um REAL, u_relief_um REAL,
  wear_um REAL, worst_top_um REAL, u_top_um REAL, document TEXT, read_at TEXT,
  PRIMARY KEY (url, way)
);
CREATE INDEX scans_by_id ON scans (scan_id) WHERE scan_id IS NOT NULL;
CREATE INDEX scans_by_instrument ON scans (instrument, made);
CREATE INDEX scans_by_rig ON scans (rig, made);
{LOOKUP}
PRAGMA user_version = {VERSION};
"""


def open_archive(path: Path) -> sqlite3.Connection:
    """The archive in this file, made where there is none. Whoever opens it closes it.

    Raises FileError: the file is no archive, of a newer program, or cannot be opened.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        db = sqlite3.connect(path, timeout=_WAIT_S)
    except (OSError, sqlite3.Error) as error:
        raise _not_opened(path, error) from error
    try:
        _prepare(db, path)
    except sqlite3.Error as error:
        db.close()
        raise _not_opened(path, error) from error
    except BaseException:
        db.close()
        raise
    return db


@contextmanager
def archive(path: Path, *, there: bool = False) -> Iterator[sqlite3.Connection]:
    """The archive for a block, closed at its end; what SQLite complains of there is a FileError.

    there: it must have been made before; InputError says how, where it was not.
    """
    if there and not path.exists():
        raise InputError(f"{path}: found no archive; make it with: neckform archive index FOLDER")
    with closing(open_archive(path)) as db:
        try:
            yield db
        except sqlite3.Error as error:
            raise FileError(f"{path}: the archive could not be used ({error})") from error


def _prepare(db: sqlite3.Connection, path: Path) -> None:
    db.execute("PRAGMA trusted_schema = ON")
    db.create_function("folded", 1, folded, deterministic=True)
    db.create_function("folded_words", -1, folded_words, deterministic=True)
    # an INSERT OR REPLACE takes a row out, too
    db.execute("PRAGMA recursive_triggers = ON")
    # in one look: another process may just be making it
    db.execute("BEGIN")
    try:
        version = _version(db, path)
    finally:
        db.rollback()
    if version == 0:
        _keep_a_log(db)
        _make(db, path)
    db.execute("PRAGMA synchronous = NORMAL")


def _keep_a_log(db: sqlite3.Connection) -> None:
    """Readers and a writer at once. SQLite does not wait where several change to that at once."""
    until_s = time.monotonic() + _WAIT_S
    while True:
        try:
            db.execute("PRAGMA journal_mode = WAL")
        except sqlite3.OperationalError:
            if time.monotonic() > until_s:
                raise
            time.sleep(0.01)
        else:
            return


def _make(db: sqlite3.Connection, path: Path) -> None:
    """All of it in one transaction; another process may have been faster."""
    db.execute("BEGIN IMMEDIATE")
    if _version(db, path) == VERSION:
        db.rollback()
        return
    try:
        for statement in _statements(SCHEMA):
            db.execute(statement)
        db.commit()
    except BaseException:
        db.rollback()
        raise


def _statements(script: str) -> Iterator[str]:
    """One by one: `executescript` would commit before the first."""
    statement = ""
    for part in script.split(";"):
        statement += f"{part};"
        if sqlite3.complete_statement(statement):
            yield statement
            statement = ""


def _version(db: sqlite3.Connection, path: Path) -> int:
    """0 for a new file. FileError for what is no archive of this program's."""
    (version,) = db.execute("PRAGMA user_version").fetchone()
    tables = {name for (name,) in db.execute("SELECT name FROM sqlite_master")}
    if version > VERSION and "scans" in tables:
        raise FileError(
            f"{path}: is an archive of version {version}, and this program reads up to {VERSION}; "
            "use a newer program, or index anew into another file with --archive FILE"
        )
    if (version == VERSION) != ("scans" in tables) or (version == 0 and tables):
        raise FileError(f"{path}: is a database, but no archive; give another file with --archive")
    return int(version)


def _not_opened(path: Path, error: Exception) -> FileError:
    reason = getattr(error, "strerror", None) or str(error)
    return FileError(
        f"{path}: cannot be opened as an archive ({reason}); give another file with --archive"
    )
