"""A byte stream cut into lines, however it comes."""

from __future__ import annotations

from collections.abc import Iterator

LONGEST_LINE = 1024


class LineCutter:
    """Keeps an unfinished line between feeds: no line feed, no line.

    skip_first: the first line may have lost its beginning, and is left out.
    """

    def __init__(self, *, skip_first: bool = False) -> None:
        self._tail = b""
        self._skip = skip_first
        self._too_long = False

    def feed(self, data: bytes) -> Iterator[tuple[bytes | None, int]]:
        """(line without its end, after how many bytes of the feed it was whole); None for a line
        too long to be one, told once it is over."""
        *whole, rest = data.split(b"\n")
        end = 0
        for piece in whole:
            end += len(piece) + 1
            line, too_long = self._tail + piece, self._too_long
            skip, self._skip = self._skip, False
            self._tail, self._too_long = b"", False
            if not skip:
                yield (None if too_long or len(line) > LONGEST_LINE else line), end
        self._tail += rest
        if len(self._tail) > LONGEST_LINE:
            self._tail, self._too_long = b"", True
