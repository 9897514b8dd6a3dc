"""The jobs that somebody has open: two locks for each, and what its folder held when last seen."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from fastapi import HTTPException

from daq.daemon.hub import Hub
from daq.daemon.jobs.bench import Bench
from daq.daemon.jobs.kept import Kept
from daq.errors import InputError, NeckformError
from daq.workshop.job import Job
from daq.workshop.place import Workshop

Held = dict[str, frozenset[str]]


class NoJob(HTTPException):
    """There is no such job, or no longer."""

    def __init__(self, why: str) -> None:
        super().__init__(404, why)


@dataclass
class Desk:
    """One job. bench: what is asked of it, with a lock of its own; papers: for what is read and
    drawn of it, which no moved control waits for."""

    job: Job
    bench: Bench
    papers: threading.Lock = field(default_factory=threading.Lock)
    held: Held | None = None


class Desks:
    """By name, from when somebody first asks for a job until its folder is gone."""

    def __init__(self, workshop: Workshop, hub: Hub) -> None:
        self.workshop = workshop
        self.kept = Kept(workshop)
        self._hub = hub
        self._lock = threading.Lock()
        self._desks: dict[str, Desk] = {}
        self._last_seen: dict[str, Path] = {}

    @contextmanager
    def at(self, name: str) -> Iterator[Desk]:
        """A job to work on until the block ends. Whatever its folder gained, before the block or
        in it, is told as the event `job`.

        Raises NoJob where there is none, also where its folder goes meanwhile.
        """
        desk = self._desk(name)
        self._look(desk)
        try:
            yield desk
        except NeckformError:
            self._desk(name)  # a folder that is gone is told as that, not as what it led to
            raise
        self._look(desk)

    def _desk(self, name: str) -> Desk:
        try:
            job = self.workshop.job(name)
        except InputError as error:
            raise NoJob(self._gone(name) or str(error)) from error
        with self._lock:
            self._last_seen.pop(name, None)
            return self._desks.setdefault(name, Desk(job, Bench(job, self.kept, self._hub)))

    def _gone(self, name: str) -> str | None:
        """Why, where it was there before; what was asked of it is forgotten."""
        with self._lock:
            desk = self._desks.pop(name, None)
            if desk is not None:
                self._last_seen[name] = desk.job.folder.absolute()
            folder = self._last_seen.get(name)
        if desk is not None:
            self.kept.forget(name)
            self._hub.publish("job", {"job": name, "why": "gone"})
        if folder is None:
            return None
        return (
            f"job {name}: found no folder any more; it was last seen at {folder}, and what was "
            "asked of it is forgotten: put the folder back, or open another job"
        )

    def _look(self, desk: Desk) -> None:
        """Tells what came since somebody last looked, from here or from a terminal."""
        held = _held(desk.job)
        with self._lock:
            before, desk.held = desk.held, held
        for why, names in held.items():
            if before is not None and names - before[why]:
                self._hub.publish("job", {"job": desk.job.name, "why": why})


def _held(job: Job) -> Held:
    return {
        "scan": frozenset(scan.path.name for scan in job.scans()),
        "plan": frozenset(path.name for path in job.plans()),
        "check": frozenset(path.name for path in job.checks()),
    }
