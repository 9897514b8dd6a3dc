from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from daq.archive.database import archive, open_archive
from daq.archive.rows import ScanRow
from daq.archive.search import Query, search
from daq.errors import FileError, InputError

from .conftest import put_rows


def test_it_is_made_once_and_opened_after(tmp_path: Path) -> None:
    path = tmp_path / "new/archive.db"
    with archive(path) as db:
        put_rows(db, [ScanRow("a", 1, "1", "scan")])
    with archive(path, there=True) as db:
        assert db.execute("PRAGMA user_version").fetchone() == (1,)
        assert db.execute("SELECT url FROM scans").fetchall() == [("a",)]
        assert db.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_several_may_make_it_at_once(tmp_path: Path) -> None:
    faults: list[Exception] = []

    def make(path: Path) -> None:
        try:
            open_archive(path).close()
        except Exception as error:
            faults.append(error)

    # one in five went wrong where a look at it and the making of it fell together
    for number in range(40):
        path = tmp_path / f"{number}.db"
        threads = [threading.Thread(target=make, args=(path,)) for _ in range(8)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    assert faults == []


def newer(path: Path) -> None:
    with closing(open_archive(path)) as db:
        db.execute("PRAGMA user_version = 2")


def others(path: Path) -> None:
    with closing(sqlite3.connect(path)) as db:
        db.execute("CREATE TABLE bills (a)")
        db.commit()


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (newer, "is an archive of version 2, and this program reads up to 1; use a newer program"),
        (others, "is a database, but no archive"),
        (lambda path: path.write_bytes(b"no database, but long enough" * 100), "not a database"),
        (lambda path: path.mkdir(), "cannot be opened as an archive"),
    ],
)
def test_what_is_no_archive_is_refused(
    tmp_path: Path, make: Callable[[Path], object], says: str
) -> None:
    path = tmp_path / "archive.db"
    make(path)
    before = path.read_bytes() if path.is_file() else b""
    with pytest.raises(FileError, match=says) as refused:
        open_archive(path)
    assert str(refused.value).startswith(f"{path}: ")
    assert (path.read_bytes() if path.is_file() else b"") == before


def test_one_that_is_not_there_is_not_made_by_asking(tmp_path: Path) -> None:
    path = tmp_path / "archive.db"
    with (
        pytest.raises(InputError, match="found no archive; make it with: neckform archive index"),
        archive(path, there=True),
    ):
        pass
    assert not path.exists()


def test_a_fault_of_the_database_is_one_line(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="could not be used"), archive(tmp_path / "a.db") as db:
        db.execute("SELECT * FROM nothing")


def test_whatever_writes_a_scan_is_found(db: sqlite3.Connection) -> None:
    def found(word: str) -> list[str]:
        return [row.url for row in search(db, Query((word,))).rows]

    db.execute("INSERT INTO scans (url, made, instrument) VALUES ('a', '2024', 'Gärtner')")
    assert found("GÄRTNER") == ["a"]
    db.execute("INSERT OR REPLACE INTO scans (url, made, instrument) VALUES ('a', '2025', 'Ash')")
    assert (found("gärtner"), found("ash")) == ([], ["a"])
    db.execute("UPDATE scans SET made = NULL, fault = 'damaged: here' WHERE url = 'a'")
    assert (found("ash"), found("DAMAGED")) == (["a"], ["a"])
    db.execute("DELETE FROM scans")
    assert db.execute("SELECT count(*) FROM lookup").fetchone() == (0,)
