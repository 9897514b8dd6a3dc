"""Every scan of an archive read again, as far as it was not yet read this way."""

from __future__ import annotations

import sqlite3
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice
from typing import Protocol

from daq.archive.beside import Workshops
from daq.archive.engines.engine import GROUP, Engine
from daq.archive.one import Group, Task
from daq.archive.reading import Reading
from daq.archive.readings import counted, is_read, put_readings, scans_under


class Progress(Protocol):
    """Who is told how far it is."""

    def begin(self, scans: int) -> None:
        """So many scans are looked at."""

    def moved(self, done: int, faults: int) -> None:
        """So many of them are done with, faults among them."""


@dataclass(slots=True)
class Again:
    """What came of it. already: read this way before. duplicates: left out, for their firsts are
    read. faults: a line for each scan that could not be read; kinds: how many of which."""

    read: int = 0
    already: int = 0
    duplicates: int = 0
    faults: list[str] = field(default_factory=list)
    kinds: Counter[str] = field(default_factory=Counter)

    @property
    def done(self) -> int:
        """Scans done with."""
        return self.read + self.already + len(self.faults)

    def add(self, readings: Sequence[Reading]) -> None:
        """A batch that was stored."""
        for one in readings:
            if one.fault is None:
                self.read += 1
            else:
                self.faults.append(one.fault)
                self.kinds[one.kind] += 1


def read_again(
    database: sqlite3.Connection, engine: Engine, folders: Sequence[str], progress: Progress
) -> Again:
    """Reads every scan under these folders, or all, that has no reading of today's way.

    Each group's readings are stored as they come, by this process alone: stopped at any time, by
    whatever, it goes on from there. Faults are tried again each time: a file may have been put
    right. Raises what the engine raises.
    """
    scans, duplicates = counted(database, folders)
    came = Again(duplicates=duplicates)
    progress.begin(scans)
    tasks = _to_do(database, folders, came)
    for readings in engine.map(_grouped(tasks)):
        put_readings(database, readings)
        came.add(readings)
        progress.moved(came.done, len(came.faults))
    progress.moved(came.done, len(came.faults))
    return came


def _to_do(database: sqlite3.Connection, folders: Sequence[str], came: Again) -> Iterator[Task]:
    workshops = Workshops()
    for scan in scans_under(database, folders):
        beside = workshops.beside(scan.url, scan.rig)
        if is_read(database, scan, beside.way):
            came.already += 1
        else:
            yield Task(scan.url, beside, beside.way)


def _grouped(tasks: Iterator[Task]) -> Iterator[Group]:
    while group := tuple(islice(tasks, GROUP)):
        yield group
