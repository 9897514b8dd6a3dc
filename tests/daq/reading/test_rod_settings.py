"""At which setting of the rod a scan was made: said once, kept in the file, never mixed."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import h5py
import pytest

from daq.errors import FileError, InputError
from daq.reading.runs import runs_of
from daq.reading.settings import rod_setting, turns_of
from daq.record.journal_format import JournalRecord, Kind
from daq.record.notes import ScanBegin, ScanEnd, parse_note
from daq.record.scan import read_rod_turns, read_scan
from daq.record.scanfile import build_scan
from daq.workshop.job import Job

Scan = Callable[..., Path]


def begin(turns: float) -> ScanBegin:
    started = "2026-03-01T10:00:00+01:00"
    texts = ("name: r", None, {})
    return ScanBegin("a1", "scan", "strung", "", "tenor", started, "neckform 0", *texts, turns)


@pytest.fixture
def job(tmp_path: Path) -> Job:
    for name in ("scans", "plans", "checks"):
        (tmp_path / "tenor" / name).mkdir(parents=True)
    return Job(tmp_path / "tenor")


@pytest.fixture
def scan(job: Job) -> Scan:
    """A scan of no passes, its rod at a setting."""

    def scan(state: str, turns: float = 0.0) -> Path:
        path = job.next_scan_path(state)
        notes = (begin(turns), ScanEnd("done", ""))
        build_scan(
            [JournalRecord(Kind.NOTE, 1, json.dumps(note.as_note()).encode()) for note in notes],
            path,
        )
        return path

    return scan


def numbers(job: Job) -> list[list[int]]:
    return [[one.number for one in run] for run in runs_of(job)]


def test_the_setting_is_in_the_note_and_in_the_file(scan: Scan) -> None:
    note = json.dumps(begin(0.25).as_note()).encode()
    assert parse_note(note) == begin(0.25)
    path = scan("strung", -0.5)
    assert read_rod_turns(path) == -0.5
    assert read_scan(path).rod_turns == -0.5


def test_an_old_note_and_an_old_file_are_of_a_rod_nobody_turned(scan: Scan) -> None:
    note = begin(0.25).as_note()
    del note["rod_turns"]
    assert parse_note(json.dumps(note).encode()) == begin(0.0)
    path = scan("strung", 0.25)
    with h5py.File(path, "r+") as file:
        del file["entry/scan/rod_turns"]
    assert read_scan(path).rod_turns == 0.0


def test_a_setting_that_is_no_number_is_damage(scan: Scan) -> None:
    path = scan("strung", 0.25)
    with h5py.File(path, "r+") as file:
        file["entry/scan/rod_turns"][()] = float("nan")
    with pytest.raises(FileError, match="damaged"):
        read_rod_turns(path)
    assert turns_of(path) is None


def test_scans_at_other_settings_do_not_repeat_one_another(job: Job, scan: Scan) -> None:
    for turns in (0.0, 0.0, 0.25, 0.25, 0.2501, 0.0):
        scan("strung", turns)
    assert numbers(job) == [[1, 2], [3, 4, 5], [6]]


def test_a_scan_that_cannot_be_read_is_of_any_setting(job: Job, scan: Scan) -> None:
    """It is told elsewhere; what stands around it is not joined over it."""
    scan("strung", 0.0)
    job.next_scan_path("strung").write_bytes(b"no scan")
    scan("strung", 0.25)
    job.next_scan_path("strung").write_bytes(b"no scan")
    scan("strung", 0.25)
    assert numbers(job) == [[1, 2], [3, 4, 5]]


def test_a_rod_is_said_once(job: Job, scan: Scan) -> None:
    first = rod_setting(job, None)
    assert (first.turns, first.taken_from, first.changed) == (0.0, None, False)
    scan("strung", 0.0)
    path = scan("strung", 0.25)
    later = rod_setting(job, None)
    assert (later.turns, later.taken_from, later.changed) == (0.25, path, False)
    # of either state, and past one that cannot be read
    job.next_scan_path("unstrung").write_bytes(b"no scan")
    assert rod_setting(job, None) == later


def test_what_is_said_goes_before_what_was(job: Job, scan: Scan) -> None:
    scan("unstrung", 0.25)
    back = rod_setting(job, 0.0)
    assert (back.turns, back.before, back.taken_from, back.changed) == (0.0, 0.25, None, True)
    assert not rod_setting(job, 0.25).changed


@pytest.mark.parametrize("turns", [3.01, -4.0, float("nan"), float("inf"), 90.0])
def test_degrees_are_no_turns(job: Job, turns: float) -> None:
    with pytest.raises(InputError, match=r"--rod: found .*; allowed -3 to 3, turns from where"):
        rod_setting(job, turns)
    assert rod_setting(job, 3.0).turns == 3.0
