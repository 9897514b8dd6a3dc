"""Which daemon serves a rig: a file beside the rig's lock, held as long as the daemon lives."""

from __future__ import annotations

import fcntl
import json
import os
import time
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TextIO

from daq.acquire.rig.owner import default_folder, owned
from daq.errors import FileError, RigError

TRIES, AGAIN_S = 5, 0.05
"""Who only looks holds the file for a moment too."""


@dataclass(frozen=True, slots=True)
class Entry:
    """How to find a daemon, and whether it is the right one. token: None where it wants none."""

    pid: int
    command: str
    started: str
    url: str
    program: str
    workshop: str
    rig_text: str
    token: str | None

    @property
    def words(self) -> str:
        """As messages call it."""
        return f"process {self.pid} ({self.command}) at {self.url} since {self.started}"


class Register:
    """The files of one daemon, one for each of its ports; they are its own to write."""

    def __init__(self, files: Sequence[TextIO]) -> None:
        self._files = files

    def write(self, entry: Entry) -> None:
        """Says where the daemon is to be found."""
        for file in self._files:
            file.truncate(0)
            file.write(json.dumps(asdict(entry)))
            file.flush()


@contextmanager
def registered(ports: Sequence[str], folder: Path | None = None) -> Iterator[Register]:
    """This process is the daemon of the rig on these ports until the block ends.

    Raises RigError that names the daemon there is, or the program that has a port.
    """
    with ExitStack() as holding:
        files = []
        for port in ports:
            file = holding.enter_context(_opened(_path(port, folder or default_folder())))
            if not _taken(file):
                raise RigError(_served_already(port, _read(file)))
            holding.callback(file.truncate, 0)
            files.append(file)
        for port in ports:
            with owned(port, folder):
                pass
        yield Register(files)


def serving(port: str, folder: Path | None = None) -> Entry | None:
    """The daemon that serves a port: one that has died holds its file no longer."""
    path = _path(port, folder or default_folder())
    if not path.exists():
        return None
    with _opened(path) as file:
        return None if _locked(file, fcntl.LOCK_SH) else _read(file)


def _path(port: str, folder: Path) -> Path:
    """By the port's name as given: what it leads to comes and goes with the cable."""
    name = os.path.abspath(port).strip("/").replace("/", "-")  # noqa: PTH100 - not resolved
    return folder / f"{name}.serving"


def _opened(path: Path) -> TextIO:
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        number = os.open(path, os.O_RDWR | os.O_CREAT | os.O_APPEND | os.O_CLOEXEC, 0o600)
        return open(number, "a+", encoding="utf-8")  # noqa: PTH123 - the caller closes it
    except OSError as error:
        raise FileError(f"cannot make the rig's register {path}: {error.strerror}") from error


def _taken(file: TextIO) -> bool:
    for _ in range(TRIES):
        if _locked(file, fcntl.LOCK_EX):
            return True
        time.sleep(AGAIN_S)
    return False


def _locked(file: TextIO, kind: int) -> bool:
    with suppress(OSError):
        fcntl.flock(file, kind | fcntl.LOCK_NB)
        return True
    return False


def _read(file: TextIO) -> Entry | None:
    """None where its daemon has only just begun."""
    file.seek(0)
    try:
        return Entry(**json.loads(file.read()))
    except (ValueError, TypeError):
        return None


def _served_already(port: str, entry: Entry | None) -> str:
    who = "another daemon, which has only just begun" if entry is None else entry.words
    return f"the rig on {port} is served already, by {who}; use that one, or end it first"
