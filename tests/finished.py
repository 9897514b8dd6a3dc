"""The demo's finished job: made once, however many processes test it at the same time."""

from __future__ import annotations

import fcntl
import os
import shutil
from pathlib import Path

import pytest

from daq.cli.main import main

SEED = 5
#: What a job that has come so far has: plans, checks, scans.
STAGES = {
    "empty": (0, 0, 0), "strung": (0, 0, 1), "scanned": (0, 0, 2), "planned": (1, 0, 2),
    "filed": (1, 0, 3), "verified": (1, 1, 3), "strung up": (1, 1, 4), "done": (1, 2, 4),
}  # fmt: skip


def finished_workshop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's workshop, its job demo. Nobody writes here."""
    shared = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        shared = shared.parent
    folder = shared / "finished"
    with (shared / "finished.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not (folder / "made").exists():
            shutil.rmtree(folder, ignore_errors=True)
            assert main(["demo", "--folder", str(folder), "--seed", str(SEED), "--json"]) == 0
            (folder / "made").touch()
    return folder / "workshop"


def job_as_it_was(workshop: Path, stage: str, folder: Path) -> None:
    """The finished job, at one of STAGES, as a job in another workshop's folder of it."""
    shutil.copytree(workshop / "jobs" / "demo", folder, copy_function=link_scans)
    for kind, count in zip(("plans", "checks", "scans"), STAGES[stage], strict=True):
        there = sorted((folder / kind).glob("0*"))
        assert len(there) >= count
        for path in there[count:]:
            path.unlink()


def link_scans(old: str, new: str) -> None:
    """Scan files are large, and nobody writes to one."""
    if old.endswith(".h5"):
        os.link(old, new)
    else:
        shutil.copy2(old, new)
