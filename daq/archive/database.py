"""The archive's one file: what scans there are, and what each was read to."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from daq.errors import FileError

VERSION = 1
_TABLES = """
CREATE TABLE scans (
  url TEXT PRIMARY KEY, size INTEGER, changed TEXT, kind TEXT, fault TEXT NULL, scan_id TEXT NULL,
  job TEXT NULL, state TEXT NULL, made TEXT NULL, instrument TEXT NULL, strings INT, frets INT,
  rig TEXT NULL, rod_turns REAL NULL, celsius REAL NULL, lost REAL, damaged REAL,
  noise_um REAL NULL, duplicate_of TEXT NULL, seen TEXT
);
CREATE TABLE readings (
  url TEXT, scan_id TEXT, way TEXT, outcome TEXT, fault TEXT NULL, relief_um REAL,
  u_relief_um REAL, wear_um REAL, worst_top_um REAL, u_top_um REAL, document TEXT, read_at TEXT,
  PRIMARY KEY (url, way)
);
"""


def open_archive(path: Path) -> sqlite3.Connection:
    """The archive's database, made where there is none.

    Raises FileError where it cannot be opened, is no database, or is of a newer version.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        database = sqlite3.connect(path)
        database.execute("PRAGMA journal_mode = WAL")
        (version,) = database.execute("PRAGMA user_version").fetchone()
        if version == 0:
            database.executescript(f"BEGIN; {_TABLES} PRAGMA user_version = {VERSION}; COMMIT;")
    except (OSError, sqlite3.Error) as error:
        raise FileError(f"{path}: cannot be opened as an archive ({error})") from error
    if version > VERSION:
        raise FileError(
            f"{path}: is an archive of version {version}, and this program reads up to {VERSION}; "
            "use a newer program"
        )
    return database
