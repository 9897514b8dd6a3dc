"""The sample frames among the lines of a buffer, all at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from daq.wire.crc import crc16_rows
from daq.wire.line.digits import Numbers, parse_numbers
from daq.wire.line.lines import COMMA, Bytes, Flags, Index, Lines
from daq.wire.records import ABSENT, SampleBlock

FEWEST_COMMAS, MOST_COMMAS = 5, 6
UNSIGNED = (0, 2**32 - 1)
COUNTS = (-(2**31) + 1, 2**31 - 1)
HUNDREDTHS = (-(2**15), 2**15 - 1)


def looks_like_sample(buffer: Bytes, lines: Lines) -> Flags:
    """Which lines begin as a sample frame does."""
    first, second = buffer[lines.start], buffer[lines.start + 1]
    flags: Flags = (first == ord("S")) & (second == COMMA)
    return flags


def decode_samples(buffer: Bytes, lines: Lines, candidates: Flags) -> tuple[SampleBlock, Index]:
    """The good ones among the candidates, and their line numbers (intp[n])."""
    right_count = (lines.commas >= FEWEST_COMMAS) & (lines.commas <= MOST_COMMAS)
    rows = np.flatnonzero(candidates & lines.framed & right_count)
    rows = rows[_check_holds(buffer, lines, rows)]
    if not rows.size:
        return SampleBlock.empty(), rows
    block, good = _columns(buffer, lines, rows)
    if good.all():
        return block, rows
    return block.chosen(good), rows[good]


def _check_holds(buffer: Bytes, lines: Lines, rows: Index) -> Flags:
    """Whether the check over each row's body is the one its line carries."""
    body_end = lines.body_end[rows]
    length = body_end - lines.start[rows]
    width = int(length.max(initial=0) + 1) // 2 * 2
    if not width:
        return np.zeros(0, np.bool_)
    windows = np.ndarray((buffer.size - width + 1,), f"V{width}", buffer, strides=(1,))
    bodies = windows[body_end - width].view(np.uint8).reshape(rows.size, width)
    bodies *= np.arange(width) >= (width - length)[:, None]
    holds: Flags = crc16_rows(bodies, length) == lines.check[rows]
    return holds


def _columns(buffer: Bytes, lines: Lines, rows: Index) -> tuple[SampleBlock, Flags]:
    """The fields of each row by their commas, and whether every one of them is allowed."""
    n = rows.size
    with_temp = np.flatnonzero(lines.commas[rows] == MOST_COMMAS)
    start, end = _cells(lines, rows, with_temp)
    cells = parse_numbers(buffer, start, end)
    good = ~(cells.minus[:n] | cells.minus[n : 2 * n])
    seq = _required(_part(cells, 0, n), UNSIGNED, good)
    t_us = _required(_part(cells, n, n), UNSIGNED, good)
    x = _required(_part(cells, 2 * n, n), COUNTS, good)
    y = _optional(_part(cells, 3 * n, n), COUNTS, good)
    raw = _optional(_part(cells, 4 * n, n), COUNTS, good)
    good_temp = np.ones(with_temp.size, np.bool_)
    temp = np.full(n, ABSENT, np.int32)
    temp[with_temp] = _required(_part(cells, 5 * n, with_temp.size), HUNDREDTHS, good_temp)
    good[with_temp] &= good_temp
    block = SampleBlock(
        seq.astype(np.uint32),
        t_us.astype(np.uint32),
        x.astype(np.int32),
        y.astype(np.int32),
        raw.astype(np.int32),
        temp,
    )
    return block, good


def _cells(lines: Lines, rows: Index, with_temp: Index) -> tuple[Index, Index]:
    """Bounds of all cells, column after column: five of each row, then the temps there are."""
    at = lines.marks[lines.first_mark[rows] + np.arange(MOST_COMMAS)[:, None]]
    at[FEWEST_COMMAS, :] = np.where(
        lines.commas[rows] == MOST_COMMAS, at[FEWEST_COMMAS], lines.body_end[rows]
    )
    start = np.concatenate([at[:-1].ravel(), at[-1, with_temp]]) + 1
    end = np.concatenate([at[1:].ravel(), lines.body_end[rows[with_temp]]])
    return start, end


def _part(cells: Numbers, first: int, count: int) -> Numbers:
    rows = slice(first, first + count)
    return Numbers(cells.value[rows], cells.minus[rows], cells.good[rows], cells.empty[rows])


def _required(cell: Numbers, limits: tuple[int, int], good: Flags) -> NDArray[np.int64]:
    """The values; `good` is cleared where a cell is empty, no number or out of range."""
    good &= cell.good & (cell.value >= limits[0]) & (cell.value <= limits[1])
    return cell.value


def _optional(cell: Numbers, limits: tuple[int, int], good: Flags) -> NDArray[np.int64]:
    """The same, but an empty cell is ABSENT and good."""
    number = cell.good & (cell.value >= limits[0]) & (cell.value <= limits[1])
    good &= number | cell.empty
    return np.where(cell.empty, ABSENT, cell.value)
