"""What ends the process that reads it."""

from __future__ import annotations

from daq.archive.one import Task
from daq.archive.reading import Reading, fault_of


def killed(task: Task) -> Reading:
    """A scan that ended its worker again when it was tried alone."""
    line = "ended the process that read it, and again when it was tried alone; look at the file"
    return fault_of(task.url, task.way, "killed", line)
