from __future__ import annotations

import io
import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import fsspec
import pytest
from fsspec.implementations.local import LocalFileSystem
from fsspec.implementations.memory import MemoryFile, MemoryFileSystem

from daq.archive.index import index
from daq.archive.places import list_place
from daq.archive.store import whole_url
from daq.archive.watched import Watched

from .conftest import Put, rows_of


@pytest.fixture
def store() -> Iterator[Any]:
    """An object store that lives in memory; empty before and after."""
    memory = fsspec.filesystem("memory")
    memory.store.clear()
    memory.pseudo_dirs[:] = [""]
    yield memory
    memory.store.clear()
    memory.pseudo_dirs[:] = [""]


def test_scan_files_alone_are_listed(tmp_path: Path) -> None:
    for name in ("a.h5", "sub/b.hdf5", "sub/c.txt", "sub/.d.h5.part", "e.journal"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_bytes(b"12345")
    listing = list_place(str(tmp_path))
    assert [seen.url for seen in listing.files] == [
        str(tmp_path / "a.h5"), str(tmp_path / "sub/b.hdf5"),
    ]  # fmt: skip
    assert {seen.size for seen in listing.files} == {5}
    assert listing.faults == ()
    assert listing.root == f"{tmp_path}/"


def test_a_path_may_look_like_anything(tmp_path: Path) -> None:
    name = "50% of c::d #1 [x] *? é/a.h5"
    (tmp_path / name).parent.mkdir()
    (tmp_path / name).touch()
    for place in (str(tmp_path), str((tmp_path / name).parent), f"file://{tmp_path}"):
        assert [seen.url for seen in list_place(place).files] == [str(tmp_path / name)]


def test_a_changed_file_has_another_mark(tmp_path: Path) -> None:
    path = tmp_path / "a.h5"
    path.write_bytes(b"12345")
    (before,) = list_place(str(tmp_path)).files
    os.utime(path, ns=(0, path.stat().st_mtime_ns + 10_000_000))
    (after,) = list_place(str(tmp_path)).files
    assert before.size == after.size
    assert before.changed != after.changed


def test_links_lead_to_files_and_never_round(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "real/a.h5").write_bytes(b"12345678")
    (tmp_path / "real/round").symlink_to(tmp_path, target_is_directory=True)
    (tmp_path / "b.h5").symlink_to(tmp_path / "real/a.h5")
    (tmp_path / "nowhere.h5").symlink_to(tmp_path / "gone.h5")
    os.mkfifo(tmp_path / "pipe.h5")
    listing = list_place(str(tmp_path))
    assert [(Path(seen.url).name, seen.size) for seen in listing.files] == [
        ("b.h5", 8),
        ("a.h5", 8),
    ]
    marks = {seen.changed for seen in listing.files}
    assert len(marks) == 1


@pytest.mark.parametrize(
    ("place", "told", "why"),
    [
        ("{tmp}/none", "{tmp}/none", "there is no such folder"),
        ("none", "{tmp}/none", "there is no such folder"),
        ("{tmp}/file.h5", "{tmp}/file.h5", "is no folder"),
        ("memory://none", "memory:///none", "there is no such folder"),
        ("nosuchstore://x/y", "nosuchstore://x/y", "Protocol not known"),
    ],
)
def test_a_place_that_is_not_there_is_one_fault(
    db: sqlite3.Connection,
    tmp_path: Path,
    put: Put,
    store: Any,
    monkeypatch: pytest.MonkeyPatch,
    place: str,
    told: str,
    why: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "file.h5").touch()
    put(tmp_path / "shop/a.h5")
    indexed = index(db, [place.format(tmp=tmp_path), str(tmp_path / "shop")])
    (fault,) = indexed.not_listed
    assert fault.url == told.format(tmp=tmp_path)
    assert why in fault.why
    assert indexed.scans == 1


def test_a_folder_within_that_may_not_be_read(
    db: sqlite3.Connection, tmp_path: Path, put: Put, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = put(tmp_path / "shop/closed/deep/a.h5")
    put(tmp_path / "shop/closed too/b.h5").unlink()
    put(tmp_path / "shop/open/c.h5")
    gone = put(tmp_path / "shop/open/d.h5")
    index(db, [str(tmp_path / "shop")])
    gone.unlink()
    real = LocalFileSystem.ls

    def refused(self: Any, path: str, *how: Any, **more: Any) -> Any:
        if path.endswith("closed"):
            raise PermissionError(13, "Permission denied", path)
        return real(self, path, *how, **more)

    monkeypatch.setattr(LocalFileSystem, "ls", refused)
    indexed = index(db, [str(tmp_path / "shop")])
    (fault,) = indexed.not_listed
    assert (fault.url, fault.why) == (str(tmp_path / "shop/closed"), "Permission denied")
    assert indexed.gone == 1
    assert str(kept) in rows_of(db)


def test_what_a_missing_share_held_stays(
    db: sqlite3.Connection, tmp_path: Path, put: Put, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = put(tmp_path / "mounts/share/a.h5")
    put(tmp_path / "mounts/own/b.h5")
    index(db, [str(tmp_path / "mounts")])
    path.unlink()
    # the mount point is there, and nothing is mounted
    indexed = index(db, [str(tmp_path / "mounts/share")])
    (fault,) = indexed.not_listed
    assert "the archive knows 1 there: kept; is it mounted?" in fault.why
    assert str(path) in rows_of(db)
    path.parent.rmdir()
    assert index(db, [str(path.parent)]).not_listed[0].why == "there is no such folder"
    assert str(path) in rows_of(db)
    monkeypatch.chdir(path.parent.parent)
    assert index(db, ["share"]).not_listed[0].why == "there is no such folder"
    assert str(path) in rows_of(db)
    assert index(db, [str(tmp_path / "mounts")]).gone == 1


def test_a_name_that_is_no_text(db: sqlite3.Connection, tmp_path: Path, put: Put) -> None:
    put(tmp_path / "shop/a.h5")
    (tmp_path / os.fsdecode(b"shop/caf\xe9.h5")).touch()
    indexed = index(db, [str(tmp_path / "shop")])
    (fault,) = indexed.not_listed
    assert "is no text" in fault.why
    fault.url.encode()
    assert indexed.scans == 1


def test_a_store_gives_the_same_rows(
    db: sqlite3.Connection, tmp_path: Path, put: Put, store: Any
) -> None:
    local = put(tmp_path / "shop/jobs/x/a.h5")
    store.pipe("/bucket/jobs/x/a.h5", local.read_bytes())
    store.pipe("/bucket/jobs/y/cut.h5", local.read_bytes()[:-2000])
    store.pipe("/bucket/notes.txt", b"no scan")
    indexed = index(db, ["memory://bucket", str(tmp_path / "shop")])
    rows = rows_of(db)
    remote = next(row for url, row in rows.items() if url.endswith("bucket/jobs/x/a.h5"))
    assert remote.url.startswith("memory://")
    same = set(rows[str(local)].__slots__) - {"url", "changed", "duplicate_of", "seen"}
    assert all(getattr(remote, name) == getattr(rows[str(local)], name) for name in same)
    assert dict(indexed.faults) == {"cut short": 1}
    assert index(db, ["memory://bucket"]).opened == 0
    store.rm("/bucket/jobs/y/cut.h5")
    assert index(db, ["memory://bucket/"]).gone == 1


def test_a_store_that_fails_is_not_the_files_fault(
    db: sqlite3.Connection, base_scan: Path, store: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    store.pipe("/bucket/a.h5", base_scan.read_bytes())
    reads = iter(range(1000))
    real = MemoryFile.read
    monkeypatch.setattr("daq.archive.watched.BLOCK_BYTES", 4096)

    def failing(self: Any, *how: Any) -> bytes:
        if next(reads) > 5:
            raise ConnectionError("the store has hung up")
        return bytes(real(self, *how))

    with monkeypatch.context() as patched:
        patched.setattr(MemoryFile, "read", failing, raising=False)
        assert index(db, ["memory://bucket"]).faults == {"unreadable": 1}
    (row,) = rows_of(db).values()
    assert row.fault == "unreadable: cannot be read: the store has hung up"
    indexed = index(db, ["memory://bucket"])
    assert (indexed.opened, indexed.scans) == (1, 1)


def test_a_store_that_does_not_answer_is_not_an_empty_one(
    db: sqlite3.Connection, base_scan: Path, store: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    store.pipe("/bucket/a.h5", base_scan.read_bytes())
    index(db, ["memory://bucket"])

    def silent(self: Any, path: str, **more: Any) -> Any:
        raise ConnectionError("no answer")

    monkeypatch.setattr(MemoryFileSystem, "info", silent)
    (fault,) = index(db, ["memory://bucket"]).not_listed
    assert fault.why == "no answer"
    assert len(rows_of(db)) == 1


def test_a_folder_is_asked_for_as_it_was_indexed(
    db: sqlite3.Connection, tmp_path: Path, put: Put, store: Any
) -> None:
    path = put(tmp_path / "shop/a.h5")
    store.pipe("/bucket/deep/a.h5", path.read_bytes())
    index(db, ["memory://bucket", str(tmp_path)])
    for place in (
        "memory://bucket",
        "memory:///bucket/deep/",
        str(path.parent),
        f"file://{tmp_path}",
    ):
        (found,) = [one for one in rows_of(db) if one.startswith(f"{whole_url(place)}/")]
        assert found.endswith("/a.h5")


def test_a_remote_file_is_read_as_it_is_and_no_block_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("daq.archive.watched.BLOCK_BYTES", 16)
    data = bytes(range(200))
    fetched: list[int] = []

    class Counted(io.BytesIO):
        def read(self, size: int | None = -1, /) -> bytes:
            fetched.append(self.tell())
            return super().read(size)

    file = Watched(Counted(data))
    for start, length in ((0, 8), (10, 50), (190, 50), (33, 1), (0, 200), (300, 4)):
        file.seek(start)
        assert file.read(length) == data[start : start + length]
    assert file.seek(-5, io.SEEK_END) == 195
    assert file.read() == data[195:]
    # behind the end there is a block, too, and it is empty
    assert sorted(fetched) == sorted(set(fetched))
