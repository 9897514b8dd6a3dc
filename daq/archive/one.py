"""One scan read again: what every engine does, here or on another machine."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from functools import lru_cache
from pathlib import Path

from analysis.instrument import Instrument
from daq.archive.beside import Beside, CarriedStore
from daq.archive.numbers import numbers_of
from daq.archive.reading import Reading, fault_of
from daq.archive.urls import as_file
from daq.errors import FileError, InputError, NeckformError
from daq.files.instrument import parse_instrument
from daq.reading.neck import read_scan_neck, rig_of
from daq.record.scan import Scan, read_scan


@dataclass(frozen=True, slots=True)
class Task:
    """A scan to read, and all that it is read with."""

    url: str
    beside: Beside
    way: str


Group = tuple[Task, ...]


def read_group(group: Sequence[Task]) -> list[Reading]:
    """The readings of a group, in its order. Raises nothing that a scan can cause."""
    return [read_one(task) for task in group]


def read_one(task: Task) -> Reading:
    """One scan read with today's method. A fault is a reading too: one line that names the url."""
    try:
        with as_file(task.url) as path:
            return _read(task, path)
    except FileError as error:
        return fault_of(task.url, task.way, "file", str(error))
    except Exception as error:
        return fault_of(task.url, task.way, "program", f"{type(error).__name__}: {error}")


def _read(task: Task, path: Path) -> Reading:
    scan_id = None
    try:
        scan = read_scan(path)
        scan_id = scan.id
        if task.beside.fault is not None:
            raise FileError(task.beside.fault)
        instrument = _instrument_of(task.beside, scan)
        found = numbers_of(read_scan_neck(scan, instrument, _store_of(task, scan)), instrument)
    except NeckformError as error:
        kind = "neck" if isinstance(error, InputError) else "file"
        # a copy's name says nothing to anybody
        return fault_of(task.url, task.way, kind, str(error).replace(str(path), task.url), scan_id)
    return Reading(
        task.url,
        scan_id,
        task.way,
        "read",
        None,
        **asdict(found),
    )


def _instrument_of(beside: Beside, scan: Scan) -> Instrument:
    if beside.instrument is not None:
        return _parsed(beside.instrument.text, beside.instrument.where)
    if scan.instrument_text is None:
        raise InputError(f"{scan.path}: has no instrument file, beside it or inside")
    return _parsed(scan.instrument_text, f"{scan.path} (instrument file inside)")


def _store_of(task: Task, scan: Scan) -> CarriedStore | None:
    beside = task.beside
    if not beside.calibrations:
        return None
    rig = rig_of(scan).name
    if rig != beside.rig:
        raise FileError(
            f"{scan.path}: is of rig {rig}, and the archive has it as of {beside.rig}; "
            "index it again"
        )
    return CarriedStore(rig, beside.calibrations)


@lru_cache(16)
def _parsed(text: str, where: str) -> Instrument:
    """A job's scans follow one another, and share its file."""
    return parse_instrument(text, where).record
