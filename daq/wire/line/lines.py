"""A buffer cut into lines, each with its checks that need no arithmetic: columns only."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from daq.wire.line.encode import LONGEST_BODY

LF, CR, COMMA, STAR = 10, 13, 44, 42
CHECK_SIZE = 5

Index = NDArray[np.intp]
Flags = NDArray[np.bool_]
Bytes = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Lines:
    """Whole lines of a buffer, in order.

    start: intp[n], the line's first byte. feed: intp[n], its line feed.
    body_end: intp[n], where the `*` should stand, with four bytes and the line end behind it.
    framed: bool[n], a body of allowed length and a `*`.
    marks: intp[], where every comma and line feed of the buffer stands.
    first_mark: intp[n], index in `marks` of the line's first comma or, having none, line feed.
    commas: intp[n], how many commas the line holds.
    """

    start: Index
    feed: Index
    body_end: Index
    framed: Flags
    marks: Index
    first_mark: Index
    commas: Index

    def __len__(self) -> int:
        return int(self.start.size)

    def chosen(self, rows: Index) -> Lines:
        """Some of the lines, by their numbers in order: these themselves where it is all."""
        if rows.size == len(self):
            return self
        return Lines(
            self.start[rows],
            self.feed[rows],
            self.body_end[rows],
            self.framed[rows],
            self.marks,
            self.first_mark[rows],
            self.commas[rows],
        )


def cut_lines(buffer: Bytes, begin: int) -> Lines:
    """The lines of buffer[begin:] up to its last line feed.

    buffer: uint8[size]; at least 96 bytes of padding, none of them a comma or a line feed,
        stand before `begin`.
    """
    marks = np.flatnonzero((buffer == LF) | (buffer == COMMA))
    feed_mark = np.flatnonzero(buffer.take(marks) == LF)
    feed = marks.take(feed_mark)
    start = _after_previous(feed, begin - 1)
    first_mark = _after_previous(feed_mark, -1)
    body_end = feed - CHECK_SIZE
    body_end -= buffer.take(feed - 1) == CR
    length = body_end - start
    framed = (length >= 1) & (length <= LONGEST_BODY)
    framed &= buffer.take(body_end) == STAR
    return Lines(start, feed, body_end, framed, marks, first_mark, feed_mark - first_mark)


def _after_previous(position: Index, before_first: int) -> Index:
    """One past the position before; one past `before_first` for the first."""
    shifted = np.empty_like(position)
    shifted[:1] = before_first + 1
    np.add(position[:-1], 1, out=shifted[1:])
    return shifted
