"""Frames as bytes, from rig to host. What the host says is the line protocol's."""

from __future__ import annotations

from binascii import crc_hqx

import numpy as np
from numpy.typing import NDArray

from daq.wire.binary.layout import BITS, SAMPLES, SYNC, TEXT, kind_byte
from daq.wire.crc import INITIAL, crc16_rows
from daq.wire.line.encode import LONGEST_BODY

NO_READING = -(2**31)

Counts = NDArray[np.integer]


def text(body: bytes) -> bytes:
    """An answer or an event: the line protocol's BODY. ValueError unless 1 to 90 ASCII bytes."""
    if not 1 <= len(body) <= LONGEST_BODY or not body.isascii():
        raise ValueError(f"a text frame holds 1 to {LONGEST_BODY} ASCII bytes, not {body!r}")
    checked = bytes([TEXT, len(body)]) + body
    return SYNC + checked + crc_hqx(checked, INITIAL).to_bytes(2, "little")


def samples(
    seq: Counts,
    t_us: Counts,
    raw: Counts,
    x: Counts | None = None,
    y: Counts | None = None,
    temp: Counts | None = None,
) -> NDArray[np.void]:
    """Samples, a frame each: void[n], whose `tobytes()` is what goes out.

    All int[n]: seq and t_us unsigned 32 bits, raw, x and y signed 32 bits, temp signed 16 bits.
    raw is NO_READING where the sensor has none; x and y never are. A column that is None is left
    out of the frames.
    """
    optional = {"x": x, "y": y, "temp": temp}
    there = {name: column for name, column in optional.items() if column is not None}
    kind = kind_byte(sum(BITS[name] for name in there))
    frames = np.empty(len(seq), SAMPLES[kind])
    for name, column in {"seq": seq, "t_us": t_us, "raw": raw, **there}.items():
        frames[name] = column
    frames["kind"] = kind
    frames["check"] = checks(frames)
    frames["sync"] = np.void(SYNC)
    return frames


def checks(frames: NDArray[np.void]) -> NDArray[np.uint16]:
    """What the check of each frame of one kind should be. Wipes the byte before the kind."""
    size = frames.dtype.itemsize
    rows = frames.view(np.uint8).reshape(-1, size)[:, 1 : size - 2]
    # An even number of bytes: the kind and the columns are an odd one.
    rows[:, 0] = 0
    return crc16_rows(rows, np.full(len(rows), size - 4))
