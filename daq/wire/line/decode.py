"""Bytes in, records out. The one decoder for hardware, simulation, replay and recovery."""

from __future__ import annotations

import numpy as np

from daq.wire.line.lines import CHECK_SIZE, Flags, Index, Lines, cut_lines
from daq.wire.line.rare import decode_rare
from daq.wire.line.samples import decode_samples, looks_like_sample
from daq.wire.records import Batch, Event, Reply, SampleBlock

LONGEST_LINE = 4096
LONGEST_EXAMPLE = 120
PADDING = bytes(128)
"""Windows that end in the first line reach back over its start: they must find bytes there.
After the text a single byte is enough, for the look at a line's second letter."""


class LineDecoder:
    """Cuts a byte stream into lines and the lines into records.

    However the stream is cut into feeds, the records, their order and the count of bad frames
    come out the same. A line that is not a good frame is counted and dropped, never guessed
    at. Nothing in the stream makes it raise.

    skip_first: throw away everything up to the first line feed, uncounted: after opening a
        port the first line may have lost its beginning.
    """

    def __init__(self, *, skip_first: bool = False) -> None:
        self._tail = b""
        self._skip_first = skip_first
        self._in_long_line = False
        self._samples_seen = 0

    def feed(self, data: bytes) -> Batch:
        """Everything that these bytes complete."""
        whole, feed, tail = data.rpartition(b"\n")
        if not feed:
            return self._lengthen_tail(data)
        everything = self._tail + whole + feed
        text = self._without_skipped(everything)
        before = len(everything) - len(text) - len(self._tail)
        self._tail = b""
        batch = self._decode(text, before) if text else _nothing()
        rest = self._lengthen_tail(tail)
        if not rest.bad_frames:
            return batch
        example = batch.bad_example or rest.bad_example
        bad = batch.bad_frames + rest.bad_frames
        return Batch(batch.samples, batch.events, batch.replies, bad, example, batch.whole_after)

    def _lengthen_tail(self, data: bytes) -> Batch:
        """Keep an unfinished line; once it is too long to be one, count it and drop it."""
        if self._in_long_line:
            return _nothing()
        self._tail += data
        if len(self._tail) <= LONGEST_LINE:
            return _nothing()
        example = self._tail[:LONGEST_EXAMPLE]
        self._tail = b""
        self._in_long_line = True
        return _nothing() if self._skip_first else _nothing(1, example)

    def _without_skipped(self, text: bytes) -> bytes:
        """Drop the first line where it is the opening's or the rest of an over-long one."""
        if self._skip_first or self._in_long_line:
            text = text.partition(b"\n")[2]
        self._skip_first = self._in_long_line = False
        return text

    def _decode(self, text: bytes, before: int) -> Batch:
        """The records of whole lines. before: bytes of the feed before them, negative where
        the text begins with bytes of earlier ones."""
        padded = PADDING + text + b"\0"
        buffer = np.frombuffer(padded, np.uint8)
        lines = cut_lines(buffer, len(PADDING))
        candidates = looks_like_sample(buffer, lines)
        samples, sample_lines = decode_samples(buffer, lines, candidates)
        whole_after = lines.chosen(sample_lines).feed + (before + 1 - len(PADDING))
        if len(samples) == len(lines):
            self._samples_seen += len(samples)
            return Batch(samples, (), (), 0, b"", whole_after)
        good = np.zeros(len(lines), np.bool_)
        good[sample_lines] = True
        rare = self._rare_records(padded, lines, candidates, sample_lines, good)
        self._samples_seen += len(samples)
        bad = np.flatnonzero(~good)
        return Batch(
            samples,
            tuple(record for record in rare if isinstance(record, Event)),
            tuple(record for record in rare if isinstance(record, Reply)),
            int(bad.size),
            _example(padded, lines, int(bad[0])) if bad.size else b"",
            whole_after,
        )

    def _rare_records(
        self, text: bytes, lines: Lines, candidates: Flags, sample_lines: Index, good: Flags
    ) -> list[Event | Reply]:
        """The records of the other lines; marks their lines good."""
        records: list[Event | Reply] = []
        rare = np.flatnonzero(lines.framed & ~candidates)
        before = np.searchsorted(sample_lines, rare)
        for line, earlier in zip(rare.tolist(), before.tolist(), strict=True):
            end = lines.body_end[line]
            body, check = text[lines.start[line] : end], text[end + 1 : end + CHECK_SIZE]
            record = decode_rare(body, check, self._samples_seen + earlier)
            if record is not None:
                good[line] = True
                records.append(record)
        return records


def _example(text: bytes, lines: Lines, line: int) -> bytes:
    """A line as it came without its line end, cut short if long."""
    start, end = int(lines.start[line]), int(lines.body_end[line]) + CHECK_SIZE
    return text[start : min(end, start + LONGEST_EXAMPLE)]


def _nothing(bad_frames: int = 0, bad_example: bytes = b"") -> Batch:
    return Batch(SampleBlock.empty(), (), (), bad_frames, bad_example)
