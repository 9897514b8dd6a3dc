"""What a device of each protocol sends: frames without damage, and which of them a sample is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from daq.wire.binary import encode as binary
from daq.wire.binary.dialect import BinaryDialect
from daq.wire.dialect import Dialect
from daq.wire.gcode.dialect import GcodeDialect
from daq.wire.line.dialect import LineDialect
from daq.wire.modbus.dialect import ModbusDialect
from daq.wire.printed.dialect import PrintedDialect
from daq.wire.records import SampleBlock

from .lineframes import line_frames

NONE = -1
SCATTER, MASK = 2654435761, 2**31 - 1
Index = NDArray[np.int64]


@dataclass(frozen=True)
class Spoken:
    """frames: of samples first to end. which: the number of the frame a sample came in, NONE
    where no such frame was sent; None for a protocol that has no checksum."""

    dialect: Dialect
    frames: Callable[[int, int], list[bytes]]
    which: Callable[[SampleBlock], Index] | None


def _columns(n: Index) -> tuple[Index, Index, Index, Index, Index]:
    """seq, t, x, y, raw: numbers of every length and both signs."""
    wide = (n * SCATTER) & MASK
    return n, (n * 1000) % 2**32, wide >> n % 20, -(wide >> (n + 7) % 24), (wide >> n % 9) - 2**27


def _line_frames(first: int, end: int) -> list[bytes]:
    data, lengths = line_frames(_columns(np.arange(first, end)))
    return _apart(data, lengths)


def _binary_frames(first: int, end: int) -> list[bytes]:
    seq, t_us, x, y, raw = _columns(np.arange(first, end))
    data = binary.samples(seq, t_us, raw, x, y)
    return _apart(data.tobytes(), np.full(seq.size, data.dtype.itemsize))


def _which_sent(block: SampleBlock) -> Index:
    """All of its columns are those of the frame with its running number."""
    n = block.seq.astype(np.int64)
    sent = _columns(n)
    same = np.ones(n.size, np.bool_)
    found = (block.seq, block.t_us, block.x, block.y, block.raw)
    for mine, theirs in zip(found, sent, strict=True):
        same &= mine.astype(np.int64) == theirs
    return np.where(same, n, NONE)


def _modbus_frames(first: int, end: int) -> list[bytes]:
    """Unit 1, function 4, four bytes, and the check of serial Modbus (polynomial 0xA001)."""
    raw = (np.arange(first, end) * SCATTER) & MASK
    body = np.empty((raw.size, 9), np.uint8)
    body[:, :3] = 1, 4, 4
    body[:, 3:7] = raw.astype(">u4").view(np.uint8).reshape(-1, 4)
    check = np.full(raw.size, 0xFFFF, np.uint16)
    for column in body[:, :7].T:
        check ^= column
        for _ in range(8):
            check = np.where(check & 1, check >> 1 ^ 0xA001, check >> 1).astype(np.uint16)
    body[:, 7:] = check.astype("<u2").view(np.uint8).reshape(-1, 2)
    return _apart(body.tobytes(), np.full(raw.size, 9))


def _which_answer(block: SampleBlock) -> Index:
    """Its reading scattered back; exceptions have none, and none were sent."""
    return (block.raw.astype(np.int64) * pow(SCATTER, -1, MASK + 1)) & MASK


def _printed_frames(first: int, end: int) -> list[bytes]:
    return [b"ID 7, %d.%03d mm\r\n" % divmod(n * 37 % 90_000, 1000) for n in range(first, end)]


def _gcode_frames(first: int, end: int) -> list[bytes]:
    return [
        b"ok\n" if n % 5 == 0 else b"<Idle|MPos:%d.%03d,1.250,0.000>\n" % divmod(n * 5, 1000)
        for n in range(first, end)
    ]


def _apart(data: bytes, lengths: Index) -> list[bytes]:
    ends = np.cumsum(lengths).tolist()
    return [data[start:end] for start, end in zip([0, *ends[:-1]], ends, strict=True)]


BOARD = GcodeDialect(
    mm_per_count=0.005, cross_mm_per_count=0.01, own_mm_s=25.0, query="?",
    position="<{any}MPos:{x},{y},{any}>", home="$H", halt="!", x_axis="X", y_axis="Y",
    home_mm=(0.0, 0.0), accepted="ok", refused="error", alarm="ALARM", greeting="hello",
    chatter=("[",), start=(), most_hz=20.0,
)  # fmt: skip
SPOKEN = {
    "line": Spoken(LineDialect(), _line_frames, _which_sent),
    "binary": Spoken(BinaryDialect(), _binary_frames, _which_sent),
    "modbus": Spoken(ModbusDialect(1, 0, 115200, 10, count=2), _modbus_frames, _which_answer),
    "printed": Spoken(PrintedDialect("ID {any}, {value} mm", 3, 50), _printed_frames, None),
    "gcode": Spoken(BOARD, _gcode_frames, None),
}
