"""A file that appears whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from io import FileIO
from pathlib import Path

from daq.errors import FileError


class Patient(FileIO):
    """A file that takes what the disk refuses as if it were written, and remembers why.

    For a library that cannot stop halfway through: `refused` tells afterwards, and until then at
    any time.
    """

    def __init__(self, path: Path) -> None:
        super().__init__(path, "w+")
        self.refused: OSError | None = None

    def write(self, data: bytes | memoryview, /) -> int:  # type: ignore[override]
        """All of it, unless something was refused before."""
        view = memoryview(data).cast("B")
        written = 0
        try:
            while self.refused is None and written < len(view):
                written += super().write(view[written:])
        except OSError as error:
            self.refused = error
        return len(view)

    def truncate(self, size: int | None = None, /) -> int:
        """To this size, unless something was refused before."""
        try:
            return super().truncate(size)
        except OSError as error:
            self.refused = self.refused or error
            return size or 0


@contextmanager
def new_file(path: Path) -> Iterator[Patient]:
    """The file to write, beside the name; synced and renamed at the end of the block.

    FileError: the name is taken, or the disk refused; then, and where the block raises, nothing
    is left behind. What goes wrong in the block after a refusal is laid to that.
    """
    if path.exists():
        raise FileError(f"{path}: is already there and is never written over; give another name")
    beside = path.with_name(f".{path.name}.part")
    try:
        with Patient(beside) as file:
            yield from _written(file)
            os.fsync(file.fileno())
        beside.replace(path)
        sync_folder(path.parent)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise FileError(f"{path}: cannot be written: {error.strerror}") from error
    except BaseException:
        beside.unlink(missing_ok=True)
        raise


def _written(file: Patient) -> Iterator[Patient]:
    """The refusal, where there was one, comes before whatever came of it."""
    try:
        yield file
    except Exception as error:
        if file.refused is not None:
            raise file.refused from error
        raise
    if file.refused is not None:
        raise file.refused


def sync_folder(folder: Path) -> None:
    """Bring a rename or a removal in this folder to the disk."""
    fd = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(fd)
    finally:
        os.close(fd)
