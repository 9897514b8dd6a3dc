"""Nothing that lies in a folder stops the rest of it from being indexed."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path

import h5py
import pytest

from daq.archive.index import index

from .conftest import Put, rows_of

Spoil = Callable[[Path], None]


def cut_short(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:-2000])


def foreign(path: Path) -> None:
    path.unlink()
    with h5py.File(path, "w") as file:
        file["entry/other"] = 1


def newer(path: Path) -> None:
    with h5py.File(path, "r+") as file:
        file["entry/scan/format_version"][()] = 99


def without_counts(path: Path) -> None:
    with h5py.File(path, "r+") as file:
        del file["entry/counts/lost"]


def no_time(path: Path) -> None:
    with h5py.File(path, "r+") as file:
        del file["entry/scan/started"]
        file["entry/scan/started"] = "yesterday"


def spoilt_inside(path: Path) -> None:
    """Every structure of the file but its first bytes overwritten."""
    data = bytearray(path.read_bytes())
    data[100:3000] = b"\xa5" * 2900
    path.write_bytes(data)


@pytest.mark.parametrize(
    ("spoil", "kind", "says"),
    [
        (cut_short, "cut short", "its end is missing"),
        (lambda path: path.write_bytes(b""), "foreign", "an empty file"),
        (lambda path: path.write_bytes(b"x,y\n1,2\n"), "foreign", "something else"),
        (foreign, "foreign", "not a neckform scan"),
        (newer, "newer version", "version 99, and this program reads up to 2"),
        (without_counts, "damaged", "lost"),
        (no_time, "damaged", "yesterday"),
        (spoilt_inside, "damaged", "take it from a backup"),
    ],
)
def test_a_bad_file_is_a_row_that_says_why(
    db: sqlite3.Connection, tmp_path: Path, put: Put, spoil: Spoil, kind: str, says: str
) -> None:
    bad, good = put(tmp_path / "shop/a.h5"), put(tmp_path / "shop/b.h5")
    spoil(bad)
    before = bad.read_bytes()
    indexed = index(db, [str(tmp_path / "shop")])
    row = rows_of(db)[str(bad)]
    assert row.fault is not None
    assert row.fault.startswith(f"{kind}: ")
    assert says in row.fault
    assert "\n" not in row.fault
    assert str(bad) not in row.fault
    assert (row.kind, row.scan_id, row.made) == ("other", None, None)
    assert (dict(indexed.faults), indexed.scans) == ({kind: 1}, 1)
    assert rows_of(db)[str(good)].fault is None
    assert bad.read_bytes() == before


def test_all_of_them_at_once_are_counted_by_kind(
    db: sqlite3.Connection, tmp_path: Path, put: Put
) -> None:
    for number, spoil in enumerate((cut_short, foreign, foreign, newer, spoilt_inside)):
        spoil(put(tmp_path / f"shop/{number}.h5"))
    put(tmp_path / "shop/copy.h5", id="same")
    put(tmp_path / "shop/first.h5", id="same")
    indexed = index(db, [str(tmp_path / "shop")])
    assert dict(indexed.faults) == {"cut short": 1, "damaged": 1, "foreign": 2, "newer version": 1}
    assert (indexed.found, indexed.scans, len(indexed.duplicates)) == (7, 2, 1)


def test_a_mended_file_loses_its_fault(db: sqlite3.Connection, tmp_path: Path, put: Put) -> None:
    path = put(tmp_path / "shop/a.h5")
    cut_short(path)
    index(db, [str(tmp_path / "shop")])
    put(path)
    assert index(db, [str(tmp_path / "shop")]).faults == {}
    assert rows_of(db)[str(path)].scan_id == "a"


def test_a_file_that_may_not_be_read_is_tried_again(
    db: sqlite3.Connection, tmp_path: Path, put: Put, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = put(tmp_path / "shop/a.h5")
    real = Path.open

    def refused(self: Path, *how: str) -> object:
        if self == path:
            raise PermissionError(13, "Permission denied", str(path))
        return real(self, *how)

    with monkeypatch.context() as patched:
        patched.setattr(Path, "open", refused)
        assert index(db, [str(tmp_path / "shop")]).faults == {"unreadable": 1}
        assert rows_of(db)[str(path)].fault == "unreadable: cannot be read: Permission denied"
    indexed = index(db, [str(tmp_path / "shop")])
    assert (indexed.opened, indexed.scans) == (1, 1)
