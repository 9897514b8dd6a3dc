"""A file of a store, read block by block."""

from __future__ import annotations

import io
from typing import Any, Final

#: Fetched at once, and kept for as long as the file is open: a head is a few places of one file.
BLOCK_BYTES: Final = 2**20


class Watched(io.RawIOBase):
    """A remote file that fetches no block twice, and remembers what went wrong with the store:
    that is not the file's fault.

    refused: the first error of a read, or None.
    """

    def __init__(self, file: Any) -> None:
        self._file = file
        self._at = 0
        self._blocks: dict[int, bytes] = {}
        self.refused: Exception | None = None

    def readable(self) -> bool:
        return True

    def seekable(self) -> bool:
        return True

    def readinto(self, buffer: Any, /) -> int:
        """All that was asked for, but at the end of the file: HDF5 does not ask again."""
        view = memoryview(buffer).cast("B")
        filled = 0
        while filled < len(view):
            number, skip = divmod(self._at, BLOCK_BYTES)
            part = self._block(number)[skip : skip + len(view) - filled]
            if not part:
                break
            view[filled : filled + len(part)] = part
            filled += len(part)
            self._at += len(part)
        return filled

    def seek(self, offset: int, whence: int = io.SEEK_SET, /) -> int:
        if whence == io.SEEK_END:
            offset += int(self._file.seek(0, io.SEEK_END))
        elif whence == io.SEEK_CUR:
            offset += self._at
        self._at = offset
        return offset

    def tell(self) -> int:
        return self._at

    def _block(self, number: int) -> bytes:
        if number not in self._blocks:
            try:
                self._file.seek(number * BLOCK_BYTES)
                self._blocks[number] = self._file.read(BLOCK_BYTES)
            except Exception as error:
                self.refused = self.refused or error
                raise OSError(str(error)) from error
        return self._blocks[number]
