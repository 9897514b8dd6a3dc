"""One rig, one owner: two programs on one port would each get half of the bytes."""

from __future__ import annotations

import fcntl
import os
import sys
import tempfile
import warnings
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TextIO

import platformdirs

from daq.errors import FileError, RigError


def default_folder() -> Path:
    """Where the locks of this user's rigs lie: one place, however a program was started."""
    with warnings.catch_warnings():
        # Without a login session the library takes a folder under /tmp and warns; that will do.
        warnings.simplefilter("ignore")
        folder = Path(platformdirs.user_runtime_dir("neckform"))
    if folder.parent.is_dir():
        return folder
    # made by us with the wrong rights, the library would not take it the next time
    return Path(tempfile.gettempdir(), f"neckform-{os.getuid()}")


@contextmanager
def owned(port: str, folder: Path | None = None) -> Iterator[None]:
    """Holds the rig on `port`, by whatever name the port goes, until the block ends.

    Raises RigError naming the process that has it. A lock dies with its process, so one that
    crashed leaves nothing to clear up.
    """
    path = _lock_path(port, folder or default_folder())
    with _opened(path) as lock:
        _take(lock, port)
        try:
            yield
        finally:
            # The file stays: removing it would let two programs hold locks of one name.
            lock.truncate(0)


def _lock_path(port: str, folder: Path) -> Path:
    """By the device's own path and the file system it lies in: containers share names."""
    path = Path(port).resolve()
    name = str(path).strip("/").replace("/", "-")
    with suppress(OSError):  # no such port: opening it will say so
        name += f"-{path.stat().st_dev}"
    return folder / f"{name}.lock"


def _opened(path: Path) -> TextIO:
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        return path.open("a+", encoding="utf-8")
    except OSError as error:
        raise FileError(f"cannot make the rig's lock {path}: {error.strerror}") from error


def _take(lock: TextIO, port: str) -> None:
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        lock.seek(0)
        holder = lock.read().strip() or "another process of this program"
        raise RigError(
            f"the rig on {port} is in use by {holder}; wait until that has ended, or end it"
        ) from error
    lock.truncate(0)
    lock.write(f"process {os.getpid()} ({command_line()})")
    lock.flush()


def command_line() -> str:
    """What this process was started as, for messages."""
    return " ".join([Path(sys.argv[0]).name, *sys.argv[1:]])
