"""Where things stand in a frame: the two kinds of it, as rig_configs/binary-protocol.md has them.

    sample  D6 B5 kind seq:u32 t:u32 raw:i32 [x:i32] [y:i32] [temp:i16] check:u16
    text    D6 B5 78 length:u8 BODY check:u16

Little-endian. The check is over everything between the two sync bytes and itself.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from daq.wire.line.encode import LONGEST_BODY

SYNC = b"\xd6\xb5"
BITS = {"x": 1, "y": 2, "temp": 4}
TEXT_BIT = 8
TEXT_EDGE = 6
"""A text frame's bytes besides its body: sync, kind, length, check."""
LONGEST = TEXT_EDGE + LONGEST_BODY


def kind_byte(bits: int) -> int:
    """The four bits, and above them their opposites: no flipped bit makes one kind another."""
    return bits | (~bits & 15) << 4


TEXT = kind_byte(TEXT_BIT)


def _sample(bits: int) -> np.dtype[Any]:
    optional = [(name, "<i2" if name == "temp" else "<i4") for name in BITS if bits & BITS[name]]
    return np.dtype(
        [
            ("sync", "V2"),
            ("kind", "u1"),
            ("seq", "<u4"),
            ("t_us", "<u4"),
            ("raw", "<i4"),
            *optional,
            ("check", "<u2"),
        ]
    )


SAMPLES: Mapping[int, np.dtype[Any]] = {kind_byte(bits): _sample(bits) for bits in range(8)}
"""The frame of each kind of sample, by its kind byte; all of them are of odd length."""
