"""A journal as long as one likes, of one pass, made many frames at a time."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np

from daq.record.journal_format import Kind, header, pack_record
from daq.record.notes import PassBegin, PassEnd, ScanBegin, ScanEnd

from .lineframes import line_frames

AT_ONCE = 100_000
FRAMES_A_RECORD = 50
RIG = "name: long\ncarriage: {mm_per_count: 0.005}\nsensor: {mm_per_count: 0.001}\n"
BEGIN = ScanBegin(
    "long-1", "scan", None, "", "", "2026-01-01T00:00:00+00:00", "neckform 0", RIG, None, {}
)
PASS = PassBegin(1, 0, float("nan"), 1, 25.0, (4.0, None), (614.0, None), 0.0, 1)


def write_long_journal(path: Path, samples: int, rate_hz: int) -> None:
    """The samples come in pieces of 50 frames, their numbers and times running on."""
    with path.open("wb") as file:
        file.write(header(1))
        file.writelines(_note(note.as_note()) for note in (BEGIN, PASS))
        for first in range(0, samples, AT_ONCE):
            n = np.arange(first, min(first + AT_ONCE, samples))
            t_us = n * 1_000_000 // rate_hz % 2**32
            raw = (1500 + 400 * np.sin(n / 900)).astype(np.int64)
            data, lengths = line_frames([n, t_us, n // 100, np.full(n.size, -1250), raw])
            cuts = [*np.cumsum(lengths)[FRAMES_A_RECORD - 1 :: FRAMES_A_RECORD].tolist()]
            starts = [0, *cuts]
            for start, end in zip(starts, [*cuts, len(data)], strict=True):
                if end > start:
                    file.write(pack_record(Kind.RX, 1000 * int(t_us[0]), data[start:end]))
        file.writelines(
            _note(note.as_note()) for note in (PassEnd(1, True, ()), ScanEnd("done", ""))
        )


def _note(note: object) -> bytes:
    return pack_record(Kind.NOTE, 0, json.dumps(note).encode())
