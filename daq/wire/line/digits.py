"""Decimal numbers out of a byte buffer, many at once, strictly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

CHUNK = 8
CHUNKS_HELD = 2
TOO_LARGE = 1 << 62

Index = NDArray[np.intp]
Words = NDArray[np.uint64]


@dataclass(frozen=True, slots=True)
class Numbers:
    """Parsed cells, one array to a column.

    value: int64[n], TOO_LARGE (or its negative) where it has more than 16 digits that count;
        nonsense where not good.
    minus: bool[n], it begins with a minus, `-0` too.
    good: bool[n], digits only, after at most one minus; an empty cell is not good.
    """

    value: NDArray[np.int64]
    minus: NDArray[np.bool_]
    good: NDArray[np.bool_]


def parse_numbers(buffer: NDArray[np.uint8], start: Index, end: Index) -> Numbers:
    """The cells buffer[start:end] as whole numbers; leading zeros are allowed, `+` is not.

    buffer: uint8[size]; every cell must end at least 96 bytes behind the buffer's start, and
        before a byte that is no minus.
    start, end: intp[n] cell bounds, at most 90 apart.

    Eight digits are one 64-bit word, multiplied out in three steps for all cells at once.
    """
    minus = buffer.take(start) == ord("-")
    digits = end - start
    digits -= minus
    value, good = _eight_digits(buffer, end, np.minimum(digits, CHUNK))
    good &= digits > 0
    for chunk in range(1, -(-int(digits.max(initial=0)) // CHUNK)):
        longer = np.flatnonzero(digits > CHUNK * chunk)
        count = np.minimum(digits[longer] - CHUNK * chunk, CHUNK)
        upper, upper_good = _eight_digits(buffer, end[longer] - CHUNK * chunk, count)
        good[longer] &= upper_good
        if chunk < CHUNKS_HELD:
            value[longer] += upper * 10**CHUNK
        else:
            value[longer[upper > 0]] = TOO_LARGE
    value *= 1 - 2 * minus.view(np.int8)
    return Numbers(value, minus, good)


def _eight_digits(
    buffer: NDArray[np.uint8], end: Index, count: Index
) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """The last `count` (0 to 8) bytes before `end` as a number, and whether all are digits."""
    words = _words(buffer)[end - CHUNK]
    words ^= np.uint64(0x3030303030303030)
    words &= _KEPT.take(count)
    other = words + np.uint64(0x7676767676767676)
    other |= words
    other &= np.uint64(0x8080808080808080)
    good = other == 0
    np.right_shift(words, np.uint64(8), out=other)
    words *= np.uint64(10)
    words += other
    np.bitwise_and(words, np.uint64(0x000000FF000000FF), out=other)
    other *= np.uint64(100 + (1000000 << 32))
    words >>= np.uint64(16)
    words &= np.uint64(0x000000FF000000FF)
    words *= np.uint64(1 + (10000 << 32))
    words += other
    words >>= np.uint64(32)
    return words.view(np.int64), good


def _words(buffer: NDArray[np.uint8]) -> Words:
    """Every eight neighbouring bytes of the buffer as one little-endian word, without a copy."""
    return np.ndarray((buffer.size - CHUNK + 1,), "<u8", buffer, strides=(1,))


def _kept_bytes() -> Words:
    """For each count of digits, the mask of the bytes that hold them: a cell's last byte lies
    highest."""
    masks = [((1 << 64) - 1) >> 8 * (CHUNK - n) << 8 * (CHUNK - n) for n in range(CHUNK + 1)]
    return np.array(masks, dtype=np.uint64)


_KEPT = _kept_bytes()
