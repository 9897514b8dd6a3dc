"""The demo's finished job: typed once in a terminal, however many tests begin where it ended."""

from __future__ import annotations

import json
import os
import selectors
import shutil
import subprocess
import sysconfig
from dataclasses import asdict, dataclass
from pathlib import Path

import pytest

from .once import once_a_run

SEED = 5
#: What a job that has come so far has: plans, checks, scans.
STAGES = {
    "empty": (0, 0, 0), "strung": (0, 0, 1), "scanned": (0, 0, 2), "planned": (1, 0, 2),
    "filed": (1, 0, 3), "verified": (1, 1, 3), "strung up": (1, 1, 4), "done": (1, 2, 4),
}  # fmt: skip


@dataclass(frozen=True)
class Told:
    """What the demo came to: its exit code, its standard output, what stood in the terminal."""

    code: int
    out: str
    terminal: str


def finished_demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder that the demo left, with told.json, its `Told`. Nobody writes here."""
    return once_a_run(tmp_path_factory, "finished", _type_demo)


def finished_workshop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's workshop, its job demo. Nobody writes here."""
    return finished_demo(tmp_path_factory) / "demo/workshop"


def _type_demo(folder: Path) -> None:
    """The demo in a terminal, its document into a pipe."""
    program = Path(sysconfig.get_path("scripts")) / "neckform"
    terminal, end = os.openpty()
    process = subprocess.Popen(
        [program, "demo", "--folder", folder / "demo", "--seed", str(SEED), "--json"],
        stdin=end,
        stdout=subprocess.PIPE,
        stderr=end,
        env={**os.environ, "TERM": "xterm", "COLUMNS": "80"},
    )
    os.close(end)
    with process:
        assert process.stdout is not None
        said, out = _read_both(terminal, process.stdout.fileno())
    os.close(terminal)
    told = Told(process.returncode, out, said)
    (folder / "told.json").write_text(json.dumps(asdict(told)), encoding="utf-8")


def _read_both(terminal: int, pipe: int) -> tuple[str, str]:
    """All that comes on both until both have ended."""
    heard = {terminal: b"", pipe: b""}
    with selectors.DefaultSelector() as waiting:
        for source in heard:
            waiting.register(source, selectors.EVENT_READ)
        while waiting.get_map():
            for key, _ in waiting.select():
                data = _more(key.fd)
                heard[key.fd] += data
                if not data:
                    waiting.unregister(key.fd)
    return heard[terminal].decode(), heard[pipe].decode()


def _more(source: int) -> bytes:
    """A terminal whose last user has gone raises where a pipe ends."""
    try:
        return os.read(source, 65_536)
    except OSError:
        return b""


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
