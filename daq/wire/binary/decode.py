"""Bytes in, records out, for the binary protocol."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping

import numpy as np

from daq.wire.binary.candidates import AFTER, Candidates, find_candidates
from daq.wire.binary.layout import TEXT
from daq.wire.binary.order import Taken, known_after, take
from daq.wire.binary.rubbish import Rubbish
from daq.wire.binary.samples import CheckedSamples
from daq.wire.crc import crc16
from daq.wire.line.rare import decode_body
from daq.wire.records import Batch, Event, Reply, SampleBlock

LONGEST_EXAMPLE = 120
Rare = Mapping[int, Event | Reply]


class BinaryDecoder:
    """Takes the first good frame, wherever it begins, then the first after it, and so on.

    However the stream is cut into feeds, the records, their order and the count of bad frames
    come out the same: what may still become a frame is kept until it is whole, at most one
    longest frame of bytes. Nothing in the stream makes it raise.

    skip_first: after opening a port the first frame may have lost its beginning: see Rubbish.
    """

    def __init__(self, *, skip_first: bool = False) -> None:
        self._kept = b""
        self._rubbish = Rubbish(skip_first=skip_first)
        self._samples_seen = 0

    def feed(self, data: bytes) -> Batch:
        """Everything that these bytes complete."""
        if not data:
            return Batch(SampleBlock.empty(), (), (), 0, b"")
        earlier, size = len(self._kept), len(self._kept) + len(data)
        stream = self._kept + data + AFTER
        buffer = np.frombuffer(stream, np.uint8)
        found = find_candidates(buffer, size)
        samples = CheckedSamples(buffer, size, found)
        rare = _rare_records(stream, size, found)
        good = samples.good.copy()
        good[list(rare)] = True
        taken = take(found, good, size)
        self._kept = stream[taken.decided : size]
        is_sample = samples.good[taken.frames]
        block = samples.columns(taken.frames[is_sample])
        records = self._placed(rare, taken)
        self._samples_seen += len(block)
        bad, example = self._bad(stream, found, taken)
        return Batch(
            block,
            tuple(record for record in records if isinstance(record, Event)),
            tuple(record for record in records if isinstance(record, Reply)),
            bad,
            example,
            known_after(found, taken)[is_sample] - earlier,
        )

    def _placed(self, rare: Rare, taken: Taken) -> list[Event | Reply]:
        """The rare records that are frames, each with how many samples came before it."""
        if not rare:
            return []
        texts = [number for number in taken.frames.tolist() if number in rare]
        place = np.searchsorted(taken.frames, texts) - np.arange(len(texts))
        return [
            dataclasses.replace(rare[number], at_sample=self._samples_seen + earlier)
            for number, earlier in zip(texts, place.tolist(), strict=True)
        ]

    def _bad(self, stream: bytes, found: Candidates, taken: Taken) -> tuple[int, bytes]:
        """How many bad frames there are between the good ones, and the first of them."""
        starts = np.append(0, found.end[taken.frames])
        ends = np.append(found.at[taken.frames], taken.decided)
        bad, at = self._rubbish.count(starts, ends, found.at[taken.refused])
        return bad, stream[at : min(taken.decided, at + LONGEST_EXAMPLE)] if bad else b""


def _rare_records(stream: bytes, size: int, found: Candidates) -> Rare:
    """The text frames among the candidates, by their number; at_sample is still to be set."""
    records = {}
    for number in np.flatnonzero((found.kind == TEXT) & (found.end <= size)).tolist():
        at, end = int(found.at[number]), int(found.end[number])
        if crc16(stream[at + 2 : end - 2]) == int.from_bytes(stream[end - 2 : end], "little"):
            record = decode_body(stream[at + 4 : end - 2], 0)
            if record is not None:
                records[number] = record
    return records
