"""What takes long to make and nobody writes to: made once a run, by one process of the tests."""

from __future__ import annotations

import fcntl
import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest


def once_a_run(
    tmp_path_factory: pytest.TempPathFactory, name: str, make: Callable[[Path], object]
) -> Path:
    """A folder as `make` has filled it; whoever else wants it at the same time waits."""
    shared = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        shared = shared.parent
    folder = shared / name
    with (shared / f"{name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not (folder / "made").exists():
            shutil.rmtree(folder, ignore_errors=True)
            folder.mkdir()
            make(folder)
            (folder / "made").touch()
    return folder
