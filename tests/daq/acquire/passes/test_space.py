"""The disk while a scan grows."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections import namedtuple
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from daq.acquire.passes import space
from daq.acquire.passes.lanes import LanePlan, both_ways
from daq.acquire.passes.progress import NoProgress
from daq.acquire.passes.space import RESERVE_BYTES, DiskWatch, bytes_needed
from daq.acquire.use import OwnRig
from daq.errors import FileError, InputError
from daq.files.rig import RigFile
from daq.record.notes import ScanBegin
from daq.record.recover import recover
from daq.record.scan import read_scan

PASSES = both_ways([LanePlan(1, 2.5, "between", (5.0, 1.0), (93.0, 2.0), False)], 25.0)
PLANNED = 88 / 25 * 400 * 2 * 60
Usage = namedtuple("Usage", "total used free")


class Disk:
    """A disk with so much left, and the time of day."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.free = 1e9
        self.now_s = 100.0
        self.looks = 0
        monkeypatch.setattr("daq.acquire.passes.space.shutil.disk_usage", self.usage)

    def usage(self, folder: Path) -> Usage:
        self.looks += 1
        return Usage(1e9, 0, self.free)


@pytest.fixture
def disk(monkeypatch: pytest.MonkeyPatch) -> Disk:
    return Disk(monkeypatch)


def watch(disk: Disk, rig_file: RigFile, folder: Path, written: int) -> DiskWatch:
    journal = folder / "a.journal"
    journal.write_bytes(bytes(written))
    return DiskWatch(journal, rig_file, PASSES, lambda: disk.now_s)


def test_a_scan_and_room_for_repeats(rig_file: RigFile) -> None:
    assert bytes_needed(rig_file, PASSES) == round(2.5 * PLANNED) + RESERVE_BYTES


def test_it_looks_once_a_second(disk: Disk, rig_file: RigFile, tmp_path: Path) -> None:
    watching: Any = watch(disk, rig_file, tmp_path, 0)
    for _ in range(25):
        disk.now_s += 0.125
        watching.heard(None)
    assert disk.looks == 3


@pytest.mark.parametrize(
    ("written", "rest"),
    [(0, 2 * PLANNED), (100_000, 2 * PLANNED - 100_000), (900_000, 900_000)],
)
def test_what_the_rest_needs(
    disk: Disk, rig_file: RigFile, tmp_path: Path, written: int, rest: float
) -> None:
    watching: Any = watch(disk, rig_file, tmp_path, written)
    disk.free, disk.now_s = rest + RESERVE_BYTES + 1, 102.0
    watching.heard(None)
    disk.free, disk.now_s = rest + RESERVE_BYTES - 1, 104.0
    with pytest.raises(FileError, match=r"the disk is filling up: 2\.\d MB are free, and the rest"):
        watching.heard(None)
    disk.now_s = 106.0
    watching.heard(None)  # the rig must be halted, and what was recorded sealed


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """4 MB that are really all there is."""
    folder = tmp_path / "small"
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=4m", "none", str(folder)]
    if os.geteuid() != 0 or not shutil.which("mount") or subprocess.run(mount).returncode != 0:
        pytest.skip("a small disk needs root and the right to mount")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def test_somebody_else_fills_the_disk_in_a_pass(
    small_disk: Path,
    fake_rig: Any,
    rig_file: RigFile,
    rig_text: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(space, "LOOK_EACH_S", 0.0)

    class Hog(NoProgress):
        def samples(self, count: int, *_: object) -> None:
            if not (small_disk / "hog").exists():
                (small_disk / "hog").write_bytes(bytes(2_000_000))

    def nobody(what: str) -> None:
        raise InputError(what)

    fake = fake_rig()
    begin = ScanBegin("a1", "scan", "strung", "", "", "", "neckform 0", rig_text, None, {})
    with pytest.raises(FileError, match=r"filling up.*`neckform recover .*` makes a scan of it"):
        OwnRig(rig_file, lambda *_: fake).record(begin, PASSES, small_disk / "a.h5", Hog(), nobody)
    assert "K" in fake.commands
    recover(small_disk)
    scan = read_scan(small_disk / "a.h5")
    assert scan.end == "failed"
    assert [one.good for one in scan.passes] == [False]
