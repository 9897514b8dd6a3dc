"""One rig, one owner."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from daq.acquire.rig.owner import default_folder, owned
from daq.errors import FileError, RigError


def test_the_second_owner_is_told_who_the_first_is(tmp_path: Path) -> None:
    with (
        owned("/dev/ttyX", tmp_path),
        pytest.raises(RigError, match=f"in use by process {os.getpid()}") as caught,
        owned("/dev/ttyX", tmp_path),
    ):
        pass
    assert Path(sys.argv[0]).name in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_port_is_the_same_by_any_name(tmp_path: Path) -> None:
    port, alias = tmp_path / "ttyX", tmp_path / "by-id"
    port.touch()
    alias.symlink_to(port)
    with (
        owned(str(port), tmp_path / "locks"),
        pytest.raises(RigError, match="is in use by"),
        owned(str(alias), tmp_path / "locks"),
    ):
        pass


def test_two_rigs_have_two_owners(tmp_path: Path) -> None:
    with owned("/dev/ttyX", tmp_path), owned("/dev/ttyY", tmp_path):
        assert len(list(tmp_path.iterdir())) == 2


def test_a_rig_is_free_again_afterwards(tmp_path: Path) -> None:
    for _ in range(2):
        with owned("/dev/ttyX", tmp_path):
            pass


def test_a_process_that_died_owns_nothing(tmp_path: Path) -> None:
    script = (
        "import os; from pathlib import Path; from daq.acquire.rig.owner import owned\n"
        f"with owned('/dev/ttyX', Path({str(tmp_path)!r})): os._exit(9)"
    )
    assert subprocess.run([sys.executable, "-c", script], check=False).returncode == 9
    with owned("/dev/ttyX", tmp_path):
        pass


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with (
        pytest.raises(FileError, match="cannot make the rig's lock"),
        owned("/x", tmp_path / "file"),
    ):
        pass


def test_without_a_login_session_there_is_still_a_folder(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("XDG_RUNTIME_DIR", raising=False)
    assert default_folder().name == "neckform"


def test_locks_lie_in_one_place_though_the_sessions_folder_is_missing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    missing = tmp_path / "no-session"
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(missing))
    first = default_folder()
    with owned("/dev/somewhere", first):
        assert default_folder() == first
    assert not missing.exists(), "made by us, it would have rights the library refuses"
