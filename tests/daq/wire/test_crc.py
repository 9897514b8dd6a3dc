from __future__ import annotations

from collections.abc import Callable

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from daq.wire.crc import crc16, crc16_rows


def rows_of(bodies: list[bytes], width: int) -> tuple[np.ndarray, np.ndarray]:
    rows = np.zeros((len(bodies), width), np.uint8)
    for row, body in zip(rows, bodies, strict=True):
        row[width - len(body) :] = np.frombuffer(body, np.uint8)
    return rows, np.array([len(body) for body in bodies], dtype=np.intp)


def test_published_check_value() -> None:
    assert crc16(b"123456789") == 0x29B1
    rows, lengths = rows_of([b"123456789"], 10)
    assert crc16_rows(rows, lengths).tolist() == [0x29B1]


@settings(deadline=None)
@given(st.lists(st.binary(max_size=92), max_size=20), st.sampled_from([92, 94, 128, 256]))
def test_rows_agree_with_one_bit_at_a_time(
    bitwise: Callable[[bytes], int], bodies: list[bytes], width: int
) -> None:
    rows, lengths = rows_of(bodies, width)
    expected = [bitwise(body) for body in bodies]
    assert crc16_rows(rows, lengths).tolist() == expected
    assert [crc16(body) for body in bodies] == expected
