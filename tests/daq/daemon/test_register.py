"""How a daemon is found, and that there is one only."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from daq.acquire.rig.owner import owned
from daq.daemon.client import DaemonRig
from daq.daemon.finding import daemon_of
from daq.daemon.register import Entry, registered, serving
from daq.errors import InputError, RigError
from daq.steps.recording import program

PORTS = ("/dev/fake",)


@pytest.fixture
def entry(tmp_path: Path, rig_file: Any) -> Entry:
    root = str(tmp_path.resolve())
    return Entry(
        7,
        "neckform serve a.yaml",
        "noon",
        "http://127.0.0.1:1/",
        program(),
        root,
        rig_file.text,
        "word",
    )


def test_a_command_finds_the_daemon(tmp_path: Path, rig_file: Any, entry: Entry) -> None:
    assert daemon_of(rig_file, tmp_path) is None
    with registered(PORTS) as register:
        assert daemon_of(rig_file, tmp_path) is None  # it has only just begun
        register.write(entry)
        assert serving("/dev/fake") == entry
        assert isinstance(daemon_of(rig_file, tmp_path), DaemonRig)
    assert daemon_of(rig_file, tmp_path) is None


def test_where_there_is_none_nothing_is_imported_for_it(tmp_path: Path) -> None:
    script = (
        "import sys; from pathlib import Path; from daq.daemon.register import serving\n"
        "assert serving('/dev/fake') is None\n"
        "print([name for name in ('fastapi', 'uvicorn', 'http.client', 'daq.daemon.client') "
        "if name in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


def test_a_second_daemon_is_told_of_the_first(entry: Entry) -> None:
    with registered(PORTS) as register:
        register.write(entry)
        with (
            pytest.raises(
                RigError, match=r"served already, by process 7 \(neckform serve a\.yaml\)"
            ),
            registered(PORTS),
        ):
            pass


def test_a_daemon_is_told_which_program_has_the_port() -> None:
    with (
        owned("/dev/fake"),
        pytest.raises(RigError, match=f"in use by process {os.getpid()}"),
        registered(PORTS),
    ):
        pass


def test_a_daemon_that_was_killed_is_none(tmp_path: Path, rig_file: Any) -> None:
    script = (
        "import os, sys; from daq.daemon.register import Entry, registered\n"
        "with registered(['/dev/fake']) as register:\n"
        "    register.write(Entry(1, 'a', 'b', 'c', 'd', 'e', 'f', None)); os._exit(9)"
    )
    assert subprocess.run([sys.executable, "-c", script], check=False).returncode == 9
    assert serving("/dev/fake") is None
    with registered(PORTS):
        pass


@pytest.mark.parametrize(
    ("other", "said"),
    [
        ({"program": "neckform 9"}, "which is neckform 9, and this is"),
        ({"workshop": "/elsewhere"}, "for the workshop /elsewhere, and this command is for"),
        ({"rig_text": "name: other"}, "another version of the rig file"),
    ],
)
def test_a_daemon_that_serves_something_else(
    tmp_path: Path, rig_file: Any, entry: Entry, other: Any, said: str
) -> None:
    with registered(PORTS) as register:
        register.write(replace(entry, **other))
        with pytest.raises(InputError, match=said):
            daemon_of(rig_file, tmp_path)


def test_what_is_registered_is_its_owners_alone(tmp_path: Path, entry: Entry) -> None:
    with registered(PORTS, tmp_path / "locks") as register:
        register.write(entry)
        (file,) = (tmp_path / "locks").glob("*.serving")
        assert stat.S_IMODE(file.stat().st_mode) == 0o600
        assert stat.S_IMODE(file.parent.stat().st_mode) == 0o700
