"""A file that appears whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

from daq.errors import FileError


def write_new_file(path: Path, data: bytes | memoryview) -> None:
    """Write beside the name, sync, rename, sync the folder.

    FileError: the name is taken, or the disk refused; then nothing is left behind.
    """
    if path.exists():
        raise FileError(f"{path}: is already there and is never written over; give another name")
    beside = path.with_name(f".{path.name}.part")
    try:
        with beside.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
        sync_folder(path.parent)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise FileError(f"{path}: cannot be written: {error.strerror}") from error


def sync_folder(folder: Path) -> None:
    """Bring a rename or a removal in this folder to the disk."""
    fd = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(fd)
    finally:
        os.close(fd)
