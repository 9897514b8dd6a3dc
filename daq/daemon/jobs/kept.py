"""What was read of a job, kept in memory as long as the files it was read from lie unchanged."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from daq.reading.reader import JobReader
from daq.steps.trying import BenchNeck, neck_on_bench
from daq.workshop.job import Job
from daq.workshop.place import Workshop

#: Jobs that are kept; the one not looked at for longest goes first.
MOST_KEPT = 4
Stamp = tuple[tuple[str, int, int], ...]


@dataclass(frozen=True, slots=True)
class Stamps:
    """Name, size and time of files; alike where nothing has changed. scans: what a scan is read
    from, with the instrument's file and the rigs' calibrations. papers: plans and checks, which
    say which scans show one neck."""

    scans: Stamp
    papers: Stamp


def stamps_of(workshop: Workshop, job: Job) -> Stamps:
    """As they lie there now."""
    rigs = _folders(workshop.root / "calibrations")
    scans = [job.instrument_path, *_files([job.scans_folder, *rigs])]
    papers = _files([job.folder / "plans", job.folder / "checks"])
    return Stamps(_stamp(scans), _stamp(papers))


def _stamp(paths: Iterable[Path]) -> Stamp:
    """A file that vanishes meanwhile is left out."""
    found = []
    for path in paths:
        try:
            stat = path.stat()
        except OSError:
            continue
        found.append((str(path), stat.st_size, stat.st_mtime_ns))
    return tuple(sorted(found))


def _files(folders: Iterable[Path]) -> list[Path]:
    """Scans and documents."""
    entries = [path for folder in folders for path in _entries(folder)]
    return [path for path in entries if path.suffix in (".h5", ".json")]


def _folders(folder: Path) -> list[Path]:
    return [path for path in _entries(folder) if path.is_dir()]


def _entries(folder: Path) -> list[Path]:
    try:
        return list(folder.iterdir())
    except OSError:
        return []


@dataclass(slots=True)
class _Kept:
    stamps: Stamps
    reader: JobReader
    neck: BenchNeck | None = None


class Kept:
    """The scans and necks of the jobs last worked on."""

    def __init__(self, workshop: Workshop) -> None:
        self._workshop = workshop
        self._lock = threading.Lock()
        self._jobs: OrderedDict[str, _Kept] = OrderedDict()

    def reader(self, job: Job) -> JobReader:
        """Whatever was read through it before is not read again."""
        return self._now(job).reader

    def neck(self, job: Job) -> BenchNeck:
        """Made anew, up to 2 s, where a file has changed since. Raises as `neck_on_bench`.

        A neck is used by one thread at a time: who asks for it holds its job's lock.
        """
        kept = self._now(job)
        if kept.neck is None:
            kept.neck = neck_on_bench(kept.reader)
        return kept.neck

    def forget(self, name: str) -> None:
        """That job is gone."""
        with self._lock:
            self._jobs.pop(name, None)

    def _now(self, job: Job) -> _Kept:
        """As much of what was kept as still holds. What changes while it is read has another
        stamp afterwards, and is read again."""
        stamps = stamps_of(self._workshop, job)
        with self._lock:
            kept = self._jobs.get(job.name)
            if kept is None or kept.stamps.scans != stamps.scans:
                kept = _Kept(stamps, JobReader(self._workshop, job))
            elif kept.stamps != stamps:
                kept = _Kept(stamps, kept.reader)
            self._jobs[job.name] = kept
            self._jobs.move_to_end(job.name)
            while len(self._jobs) > MOST_KEPT:
                self._jobs.popitem(last=False)
            return kept
