"""Processes of this machine that read scans again."""

from __future__ import annotations

from daq.archive.engines.killed import killed
from daq.archive.engines.pool import Pool
from daq.archive.one import Task, read_group
from daq.archive.reading import Reading


def readers(workers: int) -> Pool[Task, Reading]:
    """An engine of so many processes. A scan that kills its reader twice is counted as a fault."""
    return Pool(workers, read_group, killed)
