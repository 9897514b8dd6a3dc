"""CRC-16/IBM-3740, for one frame and for many at once.

Polynomial 0x1021, initial 0xFFFF, not reflected, no final xor; 0x29B1 for `123456789`.
"""

from __future__ import annotations

from binascii import crc_hqx

import numpy as np
from numpy.typing import NDArray

INITIAL = 0xFFFF
LONGEST_ROW = 256


def crc16(body: bytes) -> int:
    """The check of one body, 0 to 0xFFFF."""
    return crc_hqx(body, INITIAL)


def crc16_rows(rows: NDArray[np.uint8], lengths: NDArray[np.intp]) -> NDArray[np.uint16]:
    """The checks of many bodies at once: uint16[n].

    rows: uint8[n, width], C-contiguous, width even and at most 256; each body stands at the
        right end of its row with zeros before it.
    lengths: intp[n], the bodies' lengths, 0 to width.

    Leading zeros do not change a CRC that starts at 0, so rows of any length run in step, two
    bytes a step; what the initial value adds depends on the length alone and is put in last.
    """
    pairs = np.ascontiguousarray(rows.view("<u2").T)
    state = np.zeros(rows.shape[0], np.uint16)
    for pair in pairs:
        state ^= pair
        state = _TWO_BYTES.take(state)
    check: NDArray[np.uint16] = state.byteswap() ^ _INITIAL_PART.take(lengths)
    return check


def _two_byte_table() -> NDArray[np.uint16]:
    """The state after two bytes, for every state xor those bytes.

    Indexed and filled byte-swapped, so that byte pairs go in as they lie in memory on a
    little-endian machine.
    """
    one = np.array([crc_hqx(bytes([byte]), 0) for byte in range(256)], dtype=np.uint16)
    first, second = one[:, None], np.arange(256, dtype=np.uint16)
    both = ((first << 8) ^ one[(first >> 8) ^ second]).astype(np.uint16)
    table: NDArray[np.uint16] = np.ascontiguousarray(both.T).ravel().byteswap()
    return table


def _initial_part() -> NDArray[np.uint16]:
    """What the initial value adds to a body of each length."""
    checks = [crc_hqx(bytes(length), INITIAL) for length in range(LONGEST_ROW + 1)]
    return np.array(checks, dtype=np.uint16)


_TWO_BYTES = _two_byte_table()
_INITIAL_PART = _initial_part()
