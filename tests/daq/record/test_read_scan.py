from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import h5py
import numpy as np
import pytest

from daq.errors import FileError
from daq.record.journal_format import JournalRecord
from daq.record.notes import PassBegin, ScanBegin
from daq.record.raw import records_of
from daq.record.scan import read_scan
from daq.record.scanfile import build_scan
from daq.wire.records import ABSENT, Event


@pytest.fixture
def scan_path(tmp_path: Path, records: list[JournalRecord]) -> Path:
    path = tmp_path / "a.h5"
    build_scan(records, path)
    return path


def test_everything_comes_back(scan_path: Path, begin: ScanBegin) -> None:
    scan = read_scan(scan_path)
    for name in ("id", "purpose", "state", "label", "job", "started", "program", "rig_text"):
        assert getattr(scan, name) == getattr(begin, name)
    assert scan.instrument_text == begin.instrument_text
    assert scan.calibration_texts == begin.calibration_texts
    assert (scan.path, scan.end, scan.why) == (scan_path, "done", "")
    first, second = scan.passes
    assert (first.number, first.lane, first.string, first.direction) == (0, 0, 1.5, 1)
    assert (first.speed_mm_s, first.y_set_mm, first.attempt) == (25.0, 12.5, 1)
    assert (second.direction, second.good, second.why, second.lost) == (-1, False, ("gaps",), 2)
    assert first.events == (Event(99, "overrange", "knob", 40),)
    assert first.bad_frames == 1
    assert first.samples.x.tolist() == [5 * seq for seq in range(40)]
    assert (first.samples.y == ABSENT).all()
    assert np.flatnonzero(first.samples.raw == ABSENT).tolist() == [9, 19, 29, 39]
    assert set(first.samples.temp.tolist()) == {2150}


def test_what_does_not_apply_comes_back_as_nothing(
    tmp_path: Path,
    begin: ScanBegin,
    pass_begin: Callable[..., PassBegin],
    note: Callable[[object], JournalRecord],
) -> None:
    path = tmp_path / "a.h5"
    build_scan([note(begin), note(pass_begin(0, y_mm=None, string=float("nan")))], path)
    (one,) = read_scan(path).passes
    assert one.y_set_mm is None
    assert np.isnan(one.string)


def test_missing_file(tmp_path: Path) -> None:
    with pytest.raises(FileError, match=r"none\.h5: there is no such file"):
        read_scan(tmp_path / "none.h5")


def test_folder_instead_of_a_file(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="cannot be read: Is a directory"):
        read_scan(tmp_path)


@pytest.mark.parametrize(
    ("content", "found"), [(b"", "an empty file"), (b"S,1,2,3", "something else")]
)
def test_file_that_is_not_hdf5(tmp_path: Path, content: bytes, found: str) -> None:
    path = tmp_path / "a.h5"
    path.write_bytes(content)
    with pytest.raises(FileError, match=f"found {found}; a scan file is HDF5"):
        read_scan(path)


def test_hdf5_of_something_else(tmp_path: Path) -> None:
    path = tmp_path / "a.h5"
    with h5py.File(path, "w") as file:
        file["entry/scan/format"] = "another"
    with pytest.raises(FileError, match="is HDF5, but not a neckform scan"):
        read_scan(path)


def test_newer_version(scan_path: Path) -> None:
    with h5py.File(scan_path, "a") as file:
        file["entry/scan/format_version"][()] = 3
    with pytest.raises(FileError, match="version 3, and this program reads up to 2"):
        read_scan(scan_path)


@pytest.mark.parametrize("share", [0.1, 0.5, 0.999])
def test_file_cut_short(scan_path: Path, share: float) -> None:
    whole = scan_path.read_bytes()
    scan_path.write_bytes(whole[: int(share * len(whole))])
    with pytest.raises(FileError, match="cut short"):
        read_scan(scan_path)


def test_dataset_that_is_missing(scan_path: Path) -> None:
    with h5py.File(scan_path, "a") as file:
        del file["entry/samples/raw"]
    with pytest.raises(FileError, match="the scan file is damaged"):
        read_scan(scan_path)


def test_raw_bytes_that_do_not_add_up(scan_path: Path) -> None:
    with h5py.File(scan_path, "a") as file:
        del file["entry/raw/bytes"]
        file["entry/raw/bytes"] = np.zeros(3, np.uint8)
    with pytest.raises(FileError, match="do not agree"):
        list(records_of(scan_path))


def test_damage_anywhere_is_a_file_error_or_not_seen(scan_path: Path) -> None:
    whole = scan_path.read_bytes()
    random = np.random.default_rng(5)
    told: list[str] = []
    for at in random.integers(0, len(whole), 150):
        damaged = bytearray(whole)
        damaged[at : at + 16] = random.bytes(16)
        scan_path.write_bytes(damaged)
        try:
            read_scan(scan_path)
            list(records_of(scan_path))
        except FileError as error:
            told.append(str(error))
    assert len(told) > 20
    assert all(line.startswith(f"{scan_path}: ") for line in told)
