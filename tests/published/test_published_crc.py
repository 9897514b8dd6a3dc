"""CRC-16/IBM-3740 (also called CCITT-FALSE), catalogue check value over `123456789`: 0x29B1."""

from __future__ import annotations

import numpy as np

from daq.wire.crc import crc16, crc16_rows


def test_check_value() -> None:
    assert crc16(b"123456789") == 0x29B1


def test_check_value_among_rows() -> None:
    rows = np.zeros((3, 10), np.uint8)
    rows[:, 1:] = np.frombuffer(b"123456789", np.uint8)
    assert crc16_rows(rows, np.full(3, 9)).tolist() == [0x29B1] * 3


def test_it_is_not_a_neighbour_in_the_catalogue() -> None:
    # XMODEM (initial 0), MODBUS, ARC, KERMIT, X-25 over the same nine characters
    assert crc16(b"123456789") not in {0x31C3, 0x4B37, 0xBB3D, 0x2189, 0x906E}
