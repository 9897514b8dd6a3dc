"""Lines of text in, records out."""

from __future__ import annotations

import re

import numpy as np
from numpy.typing import NDArray

from daq.wire.printed.match import counts
from daq.wire.records import ABSENT, Batch, SampleBlock

LF = 10
LONGEST_LINE = 256
LONGEST_EXAMPLE = 120

Index = NDArray[np.intp]


class PrintedDecoder:
    """Every line is a sample, and a line that does not match is counted and dropped.

    Lines end with LF, CR or both; empty ones are none. However the stream is cut into feeds, the
    records and the count of bad frames come out the same. The first line is always thrown away,
    uncounted: a sensor that prints of itself is in the middle of one, and what is left of it
    could pass for a number.

    The device's time is the count of its lines. A damaged line is one; where ends of lines are
    lost the count falls behind, which nothing in the bytes tells for certain: their arrival does
    (`calibration.clocks.slips`).

    pattern: see `line_pattern`. decimals: of the number, that are kept. rate_hz: lines a second.
    """

    def __init__(self, pattern: re.Pattern[bytes], decimals: int, rate_hz: int) -> None:
        self._pattern = pattern
        self._decimals = decimals
        self._rate_hz = rate_hz
        self._count = 0
        self._tail = b""
        self._first = True
        self._told_long = False

    def feed(self, data: bytes) -> Batch:
        """Everything that these bytes complete."""
        lines, feed, tail = data.replace(b"\r", b"\n").rpartition(b"\n")
        if not feed:
            return self._lengthen_tail(tail)
        text = self._tail + lines + feed
        before = len(self._tail)
        told_long, self._told_long = self._told_long, False
        self._tail = b""
        batch = self._decode(text, before, told_long)
        rest = self._lengthen_tail(tail)
        if not rest.bad_frames:
            return batch
        example = batch.bad_example or rest.bad_example
        return Batch(batch.samples, (), (), batch.bad_frames + 1, example, batch.whole_after)

    def _lengthen_tail(self, data: bytes) -> Batch:
        """Keep an unfinished line, as far as any is good; one too long is counted at once."""
        self._tail = (self._tail + data)[: LONGEST_LINE + 1]
        if len(self._tail) <= LONGEST_LINE or self._told_long or self._first:
            return _nothing()
        self._told_long = True
        return _nothing(1, self._tail[:LONGEST_EXAMPLE])

    def _decode(self, text: bytes, before: int, told_long: bool) -> Batch:
        """The records of whole lines. before: bytes of earlier feeds in the text. told_long: the
        first line was counted as bad already."""
        ends = np.flatnonzero(np.frombuffer(text, np.uint8) == LF)
        starts = np.concatenate([[0], ends[:-1] + 1])
        if self._first:
            starts, ends, self._first = starts[1:], ends[1:], False
        filled = ends > starts
        starts, ends = starts[filled], ends[filled]
        raw, good = self._readings(text, starts, ends - starts)
        seq = (self._count + np.arange(starts.size))[good]
        self._count += starts.size
        bad = np.flatnonzero(~good)
        none = np.zeros(int(good.sum()), np.int32)
        return Batch(
            SampleBlock(
                (seq % 2**32).astype(np.uint32),
                (seq * 1_000_000 // self._rate_hz % 2**32).astype(np.uint32),
                none,
                none + ABSENT,
                raw[good],
                none + ABSENT,
            ),
            (),
            (),
            int(bad.size) - told_long,
            _example(text, starts, ends, bad[told_long:]),
            (ends + 1 - before)[good].astype(np.int64),
        )

    def _readings(
        self, text: bytes, starts: Index, lengths: Index
    ) -> tuple[NDArray[np.int32], NDArray[np.bool_]]:
        """(raw, good) of each line."""
        raw = np.full(starts.size, ABSENT, np.int32)
        good = np.zeros(starts.size, np.bool_)
        row_of = {start: row for row, start in enumerate(starts.tolist())}
        for match in self._pattern.finditer(text, int(starts[0]) if starts.size else len(text)):
            row = row_of[match.start()]
            if match["whole"] is None and match["tail"] is None:
                good[row] = True
                continue
            number = counts(match, self._decimals)
            if number is not None:
                raw[row], good[row] = number, True
        good &= lengths <= LONGEST_LINE
        return raw, good


def _example(text: bytes, starts: Index, ends: Index, bad: Index) -> bytes:
    """The first bad line as it came, cut short if long."""
    if not bad.size:
        return b""
    start = int(starts[bad[0]])
    return text[start : min(int(ends[bad[0]]), start + LONGEST_EXAMPLE)]


def _nothing(bad_frames: int = 0, example: bytes = b"") -> Batch:
    return Batch(SampleBlock.empty(), (), (), bad_frames, example)
