"""The sample frames among the lines of a buffer, all at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from daq.wire.crc import crc16_rows
from daq.wire.line.digits import parse_numbers
from daq.wire.line.lines import Bytes, Flags, Index, Lines
from daq.wire.records import ABSENT, SampleBlock

FEWEST_COMMAS, MOST_COMMAS = 5, 6
BEGINS = int.from_bytes(b"S,", "little")
UNSIGNED = (0, 2**32 - 1)
COUNTS = (-(2**31) + 1, 2**31 - 1)
HUNDREDTHS = (-(2**15), 2**15 - 1)
FIELDS = (UNSIGNED, UNSIGNED, COUNTS, COUNTS, COUNTS)
"""What may stand in seq, t, x, y and raw."""
LEAST, MOST = (np.array(ends)[:, None] for ends in zip(*FIELDS, strict=True))


def looks_like_sample(buffer: Bytes, lines: Lines) -> Flags:
    """Which lines begin as a sample frame does."""
    begins: Flags = _windows(buffer, "<u2")[lines.start] == BEGINS
    return begins


def decode_samples(buffer: Bytes, lines: Lines, candidates: Flags) -> tuple[SampleBlock, Index]:
    """The good ones among the candidates, and their line numbers (intp[n])."""
    right_count = (lines.commas == FEWEST_COMMAS) | (lines.commas == MOST_COMMAS)
    rows = np.flatnonzero(candidates & lines.framed & right_count)
    if not rows.size:
        return SampleBlock.empty(), rows
    holds = _check_holds(buffer, lines.chosen(rows))
    if not holds.all():
        rows = rows[holds]
    block, good = _columns(buffer, lines.chosen(rows))
    if good.all():
        return block, rows
    return block.chosen(good), rows[good]


def _check_holds(buffer: Bytes, lines: Lines) -> Flags:
    """Whether the check over each line's body is the one it carries."""
    length = lines.body_end - lines.start
    width = int(length.max() + 1) // 2 * 2
    row = f"V{width}"
    bodies = _windows(buffer, row)[lines.body_end - width].view(np.uint8)
    # What lies before a shorter body is wiped.
    kept = np.arange(width) >= np.arange(width + 1)[:, None]
    bodies *= kept.view(row).ravel()[width - length].view(np.uint8)
    check = crc16_rows(bodies.reshape(-1, width), length)
    holds: Flags = _AS_WRITTEN.take(check) == _windows(buffer, "<u4")[lines.body_end + 1]
    return holds


def _columns(buffer: Bytes, lines: Lines) -> tuple[SampleBlock, Flags]:
    """The fields of each line by their commas, and whether every one of them is allowed.

    At least one line is asked for.
    """
    n = len(lines)
    with_temp = np.flatnonzero(lines.commas == MOST_COMMAS)
    start, end = _cells(lines, with_temp)
    cells = parse_numbers(buffer, start, end)
    value = cells.value[: 5 * n].reshape(5, n)
    allowed = (value >= LEAST) & (value <= MOST)
    allowed &= cells.good[: 5 * n].reshape(5, n)
    allowed[:2] &= ~cells.minus[: 2 * n].reshape(2, n)
    empty = (start[3 * n : 5 * n] == end[3 * n : 5 * n]).reshape(2, n)
    allowed[3:] |= empty
    good = np.logical_and.reduce(allowed)
    np.putmask(value[3:], empty, ABSENT)
    temp = np.full(n, ABSENT, np.int32)
    if with_temp.size:
        found = cells.value[5 * n :]
        temp[with_temp] = found
        within = (found >= HUNDREDTHS[0]) & (found <= HUNDREDTHS[1])
        good[with_temp] &= within & cells.good[5 * n :]
    seq, t_us = value[:2].astype(np.uint32)
    x, y, raw = value[2:].astype(np.int32)
    return SampleBlock(seq, t_us, x, y, raw, temp), good


def _cells(lines: Lines, with_temp: Index) -> tuple[Index, Index]:
    """Bounds of all cells, column after column: five of each line, then the temps there are."""
    at = lines.marks.take(lines.first_mark + np.arange(MOST_COMMAS)[:, None])
    temp_comma = at[FEWEST_COMMAS, with_temp]
    at[FEWEST_COMMAS] = lines.body_end
    at[FEWEST_COMMAS, with_temp] = temp_comma
    start, end = (at[:-1] + 1).ravel(), at[1:].ravel()
    if not with_temp.size:
        return start, end
    return (
        np.concatenate([start, temp_comma + 1]),
        np.concatenate([end, lines.body_end[with_temp]]),
    )


def _windows(buffer: Bytes, kind: str) -> NDArray[np.generic]:
    """The buffer as items of this kind that begin at every byte of it, without a copy."""
    count = buffer.size - np.dtype(kind).itemsize + 1
    return np.ndarray((count,), kind, buffer, strides=(1,))


def _written_checks() -> NDArray[np.uint32]:
    """Every check as the four bytes that stand in a frame, upper-case hex, as one word."""
    digits = np.frombuffer(b"0123456789ABCDEF", np.uint8)
    check = np.arange(1 << 16)[:, None]
    written = digits[check >> np.array([12, 8, 4, 0]) & 15]
    return np.ascontiguousarray(written).view("<u4").ravel()


_AS_WRITTEN = _written_checks()
