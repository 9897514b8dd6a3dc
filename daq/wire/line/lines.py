"""A buffer cut into lines, each with its checks that need no arithmetic: columns only."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from daq.wire.line.encode import LONGEST_BODY

LF, CR, COMMA, STAR = 10, 13, 44, 42
CHECK_SIZE = 5
NOT_HEX = 255

Index = NDArray[np.intp]
Flags = NDArray[np.bool_]
Bytes = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Lines:
    """All whole lines of a buffer, in order.

    start, end: intp[n], the line's bytes without its line end.
    body_end: intp[n], where the `*` should stand.
    framed: bool[n], a body of allowed length, a `*` and four upper-case hex digits.
    check: uint16[n], the check the line carries (nonsense where it is not framed).
    marks: intp[], where every comma and line feed stands.
    first_mark: intp[n], index in `marks` of the line's first comma or, having none, line feed.
    commas: intp[n], how many commas the line holds.
    """

    start: Index
    end: Index
    body_end: Index
    framed: Flags
    check: NDArray[np.uint16]
    marks: Index
    first_mark: Index
    commas: Index

    def __len__(self) -> int:
        return int(self.start.size)


def cut_lines(buffer: Bytes, begin: int) -> Lines:
    """The lines of buffer[begin:] up to its last line feed.

    buffer: uint8[size]; at least 96 bytes of padding, none of them a comma or a line feed,
        stand before `begin`.
    """
    marks = np.flatnonzero((buffer == LF) | (buffer == COMMA))
    is_feed = buffer[marks] == LF
    feed_mark = np.flatnonzero(is_feed)
    feed = marks[feed_mark]
    start = _after_previous(feed, begin - 1)
    first_mark = _after_previous(feed_mark, -1)
    end = feed - (buffer[feed - 1] == CR)
    body_end = end - CHECK_SIZE
    check, is_hex = _hex_check(buffer, body_end + 1)
    length = body_end - start
    framed = (length >= 1) & (length <= LONGEST_BODY) & (buffer[body_end] == STAR) & is_hex
    return Lines(start, end, body_end, framed, check, marks, first_mark, feed_mark - first_mark)


def _after_previous(position: Index, before_first: int) -> Index:
    """One past the position before; one past `before_first` for the first."""
    shifted = np.empty_like(position)
    shifted[:1] = before_first
    shifted[1:] = position[:-1]
    shifted += 1
    return shifted


def _hex_check(buffer: Bytes, at: Index) -> tuple[NDArray[np.uint16], Flags]:
    """Four hex digits as a number, and whether all four are upper-case hex digits."""
    digits = _HEX[buffer[at + np.arange(4)[:, None]]]
    wide = digits.astype(np.uint16)
    check = (wide[0] << 12) | (wide[1] << 8) | (wide[2] << 4) | wide[3]
    return check, (digits != NOT_HEX).all(axis=0)


def _hex_table() -> Bytes:
    table = np.full(256, NOT_HEX, np.uint8)
    for value, digit in enumerate(b"0123456789ABCDEF"):
        table[digit] = value
    return table


_HEX = _hex_table()
