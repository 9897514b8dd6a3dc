"""What can be wrong with a file before its contents are looked at."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from daq.errors import InputError
from daq.files.read import read_text


def said(path: Path) -> str:
    with pytest.raises(InputError) as caught:
        read_text(path, "rig file")
    return str(caught.value)


def test_a_missing_file(tmp_path: Path) -> None:
    path = tmp_path / "none.yaml"

    assert said(path) == f"{path}: found no such file; allowed a rig file (YAML)"


def test_a_folder(tmp_path: Path) -> None:
    assert said(tmp_path) == f"{tmp_path}: found a folder; allowed a rig file (YAML)"


def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    path = tmp_path / "pipe"
    os.mkfifo(path)

    assert said(path) == f"{path}: found no regular file; allowed a rig file (YAML)"


def test_a_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "mine.yaml"
    path.write_text("a: 1", encoding="utf-8")

    def refuse(_: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "read_bytes", refuse)

    assert said(path) == (
        f"{path}: found a file that cannot be read (Permission denied); "
        "allowed a readable rig file (YAML)"
    )


def test_a_text_that_is_not_utf_8(tmp_path: Path) -> None:
    path = tmp_path / "latin.yaml"
    path.write_bytes(b"a: 1\nname: caf\xe9\n")

    assert said(path) == (
        f"{path}:2: found a byte that is not UTF-8 (0xE9); allowed a rig file saved as UTF-8 text"
    )


def test_a_file_far_too_large(tmp_path: Path) -> None:
    path = tmp_path / "scan.h5"
    path.write_bytes(bytes(1_000_001))

    assert said(path) == (
        f"{path}: found 1000001 bytes; allowed at most 1000000 in a rig file; "
        "is this the right file?"
    )


def test_a_name_the_system_cannot_hold() -> None:
    assert "found a file that cannot be read" in said(Path("a\0b.yaml"))
    assert "found a file that cannot be read" in said(Path("x" * 5000))


def test_line_ends_stay_as_they_are(tmp_path: Path) -> None:
    path = tmp_path / "dos.yaml"
    path.write_bytes(b"a: 1\r\nb: 2\r\n")

    assert read_text(path, "rig file") == "a: 1\r\nb: 2\r\n"
