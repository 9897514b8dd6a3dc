"""Necks on the bench, kept in memory as long as what they were read from lies there unchanged."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from daq.steps.trying import BenchNeck, neck_on_bench
from daq.workshop.job import Job
from daq.workshop.place import Workshop

#: Jobs whose necks are kept; the one not looked at for longest goes first.
MOST_KEPT = 4
Stamp = tuple[tuple[str, int, int], ...]


def stamp_of(workshop: Workshop, job: Job) -> Stamp:
    """Name, size and time of every file that a neck is read from: the job's and the rigs'
    calibrations. Two stamps are alike where nothing has changed between them."""
    folders = [job.folder / name for name in ("scans", "plans", "checks")]
    rigs = workshop.root / "calibrations"
    files = [job.instrument_path, *_files(folders), *_files(_folders(rigs))]
    return tuple(sorted(one for path in files for one in _stamp(path)))


def _stamp(path: Path) -> list[tuple[str, int, int]]:
    """One, none where it vanished meanwhile."""
    try:
        found = path.stat()
    except OSError:
        return []
    return [(str(path), found.st_size, found.st_mtime_ns)]


def _files(folders: Iterable[Path]) -> list[Path]:
    return [
        path for folder in folders for path in _entries(folder) if path.suffix in (".h5", ".json")
    ]


def _folders(folder: Path) -> list[Path]:
    return [path for path in _entries(folder) if path.is_dir()]


def _entries(folder: Path) -> list[Path]:
    try:
        return list(folder.iterdir())
    except OSError:
        return []


@dataclass(frozen=True, slots=True)
class _Kept:
    stamp: Stamp
    neck: BenchNeck


class Necks:
    """Of the jobs last worked on. A neck is used by one thread at a time: who asks for it holds
    its job's lock."""

    def __init__(self, workshop: Workshop) -> None:
        self._workshop = workshop
        self._lock = threading.Lock()
        self._kept: OrderedDict[str, _Kept] = OrderedDict()

    def of(self, job: Job) -> BenchNeck:
        """Read anew, 1 to 2 s, where a file has changed since. Raises as `neck_on_bench`."""
        stamp = stamp_of(self._workshop, job)
        with self._lock:
            kept = self._kept.get(job.name)
            if kept is not None and kept.stamp == stamp:
                self._kept.move_to_end(job.name)
                return kept.neck
        neck = neck_on_bench(self._workshop, job)
        with self._lock:
            self._kept[job.name] = _Kept(stamp, neck)
            self._kept.move_to_end(job.name)
            while len(self._kept) > MOST_KEPT:
                self._kept.popitem(last=False)
        return neck

    def forget(self, name: str) -> None:
        """That job is gone."""
        with self._lock:
            self._kept.pop(name, None)
