"""Histories for the tests of the archive, and a url that kills whoever reads it."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import fsspec
import pytest

from daq.archive.one import read_group
from daq.archive.reading import Reading

from ....once import once_a_run
from .history import History, scan_both_states, spoilt

DEADLY = """
import os, signal
from fsspec.spec import AbstractFileSystem

class Deadly(AbstractFileSystem):
    protocol = "deadly"

    def info(self, path, **_):
        return {"name": path, "size": 1, "type": "file"}

    def _open(self, path, *_, **__):
        os.kill(os.getpid(), signal.SIGKILL)
"""
KILLER = "deadly://disk/killer.h5"


@pytest.fixture(scope="session")
def real(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Both states scanned once. Nobody writes here."""
    return once_a_run(tmp_path_factory, "two-real-scans", scan_both_states)


@pytest.fixture
def history(real: Path, tmp_path: Path) -> History:
    """An empty one."""
    return History(tmp_path / "workshop", real)


@dataclass(frozen=True)
class ReadBefore:
    """A history of six scans and four spoilt files, and what they are read to, one by one in
    this process."""

    history: History
    spoilt: dict[str, Path]
    readings: list[Reading]


@pytest.fixture(scope="session")
def serial(real: Path, tmp_path_factory: pytest.TempPathFactory) -> ReadBefore:
    """Nobody writes here."""
    history = History(tmp_path_factory.mktemp("history") / "workshop", real)
    scans = [history.scan(n, "strung" if n < 6 else "unstrung", 1 + n % 2) for n in range(1, 7)]
    bad = spoilt(history, 2)
    history.index([*scans, *bad.values()])
    return ReadBefore(history, bad, [r for group in history.groups() for r in read_group(group)])


@pytest.fixture(scope="session")
def deadly(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A url whose reader is killed, in processes started from now on."""
    folder = tmp_path_factory.mktemp("killer")
    (folder / "deadly_files.py").write_text(DEADLY)
    told = folder / "deadly_files-1.dist-info"
    told.mkdir()
    (told / "METADATA").write_text("Metadata-Version: 2.1\nName: deadly_files\nVersion: 1\n")
    (told / "entry_points.txt").write_text("[fsspec.specs]\ndeadly = deadly_files:Deadly\n")
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(str(folder))
        paths = [str(folder), *os.environ.get("PYTHONPATH", "").split(os.pathsep)]
        patch.setenv("PYTHONPATH", os.pathsep.join(paths))
        fsspec.register_implementation("deadly", "deadly_files.Deadly", clobber=True)
        yield KILLER
