"""Files that are there whole or not at all."""

from __future__ import annotations

import fcntl
import os
import stat
from pathlib import Path

import pytest

from daq.errors import FileError
from daq.workshop.store import atomic_write_text, json_text, locked, read_json


def test_a_text_is_written_and_nothing_else_left(tmp_path: Path) -> None:
    path = tmp_path / "new" / "a.json"

    atomic_write_text(path, "eins\nzwei £\n")

    assert path.read_bytes() == "eins\nzwei £\n".encode()
    assert [entry.name for entry in path.parent.iterdir()] == ["a.json"]


def test_a_failed_write_leaves_the_old_text(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.json"
    atomic_write_text(path, "old")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(FileError) as caught:
        atomic_write_text(path, "new")

    assert str(caught.value) == (
        f"{path}: could not be written (No space left on device); "
        "what was there before is unchanged"
    )
    assert path.read_text(encoding="utf-8") == "old"
    assert [entry.name for entry in tmp_path.iterdir()] == ["a.json"]


def test_the_order_is_write_sync_rename_sync(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    steps: list[str] = []
    sync, rename = os.fsync, Path.rename

    def seen_sync(number: int) -> None:
        is_folder = stat.S_ISDIR(os.fstat(number).st_mode)
        steps.append("sync folder" if is_folder else "sync file")
        sync(number)

    def seen_rename(path: Path, target: Path) -> Path:
        steps.append("rename")
        return rename(path, target)

    monkeypatch.setattr(os, "fsync", seen_sync)
    monkeypatch.setattr(Path, "rename", seen_rename)
    atomic_write_text(tmp_path / "a.json", "x")

    assert steps == ["sync file", "rename", "sync folder"]


@pytest.mark.parametrize("text", ["", '{"a": 1', "{'a': 1}", '{"a": NaN}', "[" * 100_000, "\x00"])
def test_a_damaged_file_is_refused_by_name(tmp_path: Path, text: str) -> None:
    path = tmp_path / "a.json"
    path.write_text(text, encoding="utf-8")

    with pytest.raises(FileError) as caught:
        read_json(path)

    assert str(caught.value).startswith(f"{path}: found a damaged file (")
    assert len(str(caught.value).splitlines()) == 1


def test_a_missing_and_an_unreadable_file(tmp_path: Path) -> None:
    (tmp_path / "bytes").write_bytes(b"\xff\xfe")

    with pytest.raises(FileError, match=r"could not be read \(No such file or directory\)"):
        read_json(tmp_path / "none.json")
    with pytest.raises(FileError, match=r"could not be read \('utf-8' codec"):
        read_json(tmp_path / "bytes")


def test_json_goes_round(tmp_path: Path) -> None:
    document = {"name": "Nuß", "numbers": [1, 2.5, None]}
    atomic_write_text(tmp_path / "a.json", json_text(document))

    assert read_json(tmp_path / "a.json") == document


def test_json_holds_no_nan() -> None:
    with pytest.raises(ValueError, match="not JSON compliant"):
        json_text({"a": float("nan")})


def test_a_lock_keeps_others_out_until_it_is_left(tmp_path: Path) -> None:
    path = tmp_path / "a.json"

    def try_lock() -> None:
        with (tmp_path / ".a.json.lock").open("ab") as file:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)

    with locked(path), pytest.raises(BlockingIOError):
        try_lock()
    try_lock()


def test_a_lock_where_nothing_can_be_made(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x", encoding="utf-8")

    with (
        pytest.raises(FileError, match=r"could not be opened"),
        locked(tmp_path / "file" / "a.json"),
    ):
        pass
