"""A scan whose disk becomes full at some moment, and what it left."""

from __future__ import annotations

import resource
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from daq.record.journal import read_journal
from daq.record.raw import records_of
from daq.record.recover import recover
from daq.record.scan import read_scan

from .killing import Shop, digest

SEALING = -1
"""The moment at which the scan file is being written."""
PIECE = 2**16
DISK_BYTES = 48 * 2**20


class Full(Protocol):
    """How a disk becomes full, and has room again."""

    def fill(self, process: subprocess.Popen[str]) -> None:
        """From now on nothing can be written."""

    def free(self) -> None:
        """There is room again."""


class Limited:
    """No file of the process may grow any more: the same to it as a full disk, without one."""

    def fill(self, process: subprocess.Popen[str]) -> None:
        resource.prlimit(process.pid, resource.RLIMIT_FSIZE, (0, 0))

    def free(self) -> None:
        """The process has gone, and its limit with it."""


class Filled:
    """A disk of its own, which another program fills."""

    def __init__(self, folder: Path) -> None:
        self._file = folder / "another program's"

    def fill(self, process: subprocess.Popen[str]) -> None:
        with self._file.open("wb", buffering=0) as file:
            piece = PIECE
            while piece:
                try:
                    file.write(bytes(piece))
                except OSError:  # no room for so much
                    piece //= 2

    def free(self) -> None:
        self._file.unlink()


@contextmanager
def small_disk(folder: Path) -> Iterator[bool]:
    """A disk of 48 MiB on this folder; False where this user may not make one."""
    words = ["mount", "-t", "tmpfs", "-o", f"size={DISK_BYTES}", "tmpfs", str(folder)]
    try:
        made = subprocess.run(words, capture_output=True).returncode == 0
    except OSError:
        made = False
    try:
        yield made
    finally:
        if made:
            subprocess.run(["umount", str(folder)], check=True)


@dataclass(frozen=True)
class Left:
    """What a full disk left. at: bytes of the journal it became full at, or SEALING."""

    at: int
    line: str
    kept_records: int
    good_passes: int


def fill_one(shop: Shop, full: Full, at: int) -> Left:
    """Scans, fills the disk at a moment, checks what is said and kept, frees it, recovers."""
    before = {path: digest(path) for path in shop.scans}
    with shop.scan(shop.port) as process:
        _wait_until(shop, process, at)
        full.fill(process)
        _, err = process.communicate(timeout=120)
    lines = [line for line in err.splitlines() if line.startswith("neckform: ")]
    assert process.returncode == 3, err
    assert len(lines) == 1, err
    assert "Traceback" not in err
    assert {path: digest(path) for path in shop.scans} == before
    assert not shop.halves
    kept = [list(read_journal(path)) for path in shop.journals]
    assert ("kept" in lines[0]) == bool(kept)
    full.free()
    found = recover(shop.root)
    assert [one.why for one in found if one.scan is None] == []
    made = [one.scan.path for one in found if one.scan is not None]
    assert [list(records_of(path)) for path in made] == kept
    assert {path: digest(path) for path in before} == before
    passes = [one for path in made for one in read_scan(path).passes]
    good = sum(one.good for one in passes)
    return Left(at, lines[0], sum(map(len, kept)), good)


def _wait_until(shop: Shop, process: subprocess.Popen[str], at: int) -> None:
    while process.poll() is None:
        journals = shop.journals
        size = journals[0].stat().st_size if journals else 0
        if shop.halves if at == SEALING else size > at:
            return
        time.sleep(0.0005)
    raise AssertionError("the scan was over before the disk was full")
