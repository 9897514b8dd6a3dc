"""Sample frames of the line protocol, a great many at once.

Written from the protocol's page with a check of its own: nothing here is the program's.
"""

from __future__ import annotations

from binascii import crc_hqx
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Bytes = NDArray[np.uint8]
Flags = NDArray[np.bool_]

_CRC = np.array([crc_hqx(bytes([byte]), 0) for byte in range(256)], np.uint16)
_HEX = np.frombuffer(b"0123456789ABCDEF", np.uint8)


def line_frames(columns: Sequence[NDArray[np.int64]]) -> tuple[bytes, NDArray[np.int64]]:
    """`S,...*CCCC` and a line feed for each row of seq, t, x, y, raw; how long each is.

    Cells are laid out as wide as any could be; then what no number needs is left out.
    """
    n = columns[0].size
    parts = [_constant(b"S", n)]
    for column in columns:
        parts += [_constant(b",", n), _digits(column)]
    body = np.concatenate([part for part, _ in parts])
    used = np.concatenate([flags for _, flags in parts])
    check = _check(body, used)
    tail = np.empty((6, n), np.uint8)
    tail[0] = ord("*")
    for place in range(4):
        tail[1 + place] = _HEX[(check >> (12 - 4 * place)) & 15]
    tail[5] = ord("\n")
    frame = np.concatenate([body, tail]).T
    kept = np.concatenate([used, np.ones((6, n), np.bool_)]).T
    return frame[kept].tobytes(), kept.sum(axis=1)


def _constant(text: bytes, n: int) -> tuple[Bytes, Flags]:
    return np.full((1, n), text[0], np.uint8), np.ones((1, n), np.bool_)


def _digits(values: NDArray[np.int64]) -> tuple[Bytes, Flags]:
    """A row for the sign and one for each digit that any of the values has."""
    size = np.abs(values)
    width = len(str(int(size.max(initial=1))))
    digits = np.empty((width + 1, values.size), np.uint8)
    used = np.empty(digits.shape, np.bool_)
    digits[0], used[0] = ord("-"), values < 0
    for place in range(width):
        power = 10 ** (width - 1 - place)
        digits[1 + place] = size // power % 10 + ord("0")
        used[1 + place] = (size >= power) | (power == 1)
    return digits, used


def _check(body: Bytes, used: Flags) -> NDArray[np.uint16]:
    check = np.full(body.shape[1], 0xFFFF, np.uint16)
    for byte, counts in zip(body, used, strict=True):
        after = (check << 8) ^ _CRC[(check >> 8) ^ byte]
        check = after if counts.all() else np.where(counts, after, check)
    return check
