"""A scan as the rest of the program takes it, read from its file."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from daq.record.hdf5 import Group, get_text, read_file
from daq.wire.records import Event, SampleBlock

PASS_COLUMNS = (
    "number",
    "lane",
    "string",
    "direction",
    "speed_mm_s",
    "y_set_mm",
    "attempt",
    "good",
    "first",
    "count",
    "bad_frames",
    "lost",
)


@dataclass(frozen=True, slots=True)
class PassRecord:
    """One pass as recorded.

    string: NaN where the lane has nothing to do with strings. direction: +1 away from the nut.
    y_set_mm: where the cross slide was set by hand; None where it counts by itself.
    samples: in counts. events: at_sample counts from the pass's first sample.
    lost: samples missing by their running numbers.
    """

    number: int
    lane: int
    string: float
    direction: int
    speed_mm_s: float
    y_set_mm: float | None
    attempt: int
    good: bool
    why: tuple[str, ...]
    samples: SampleBlock
    events: tuple[Event, ...]
    bad_frames: int
    lost: int


@dataclass(frozen=True, slots=True)
class Scan:
    """A scan file's content. label and job are empty where there is none.

    started: ISO 8601 with offset. The texts are those of the files used, word for word.
    end: done, interrupted or failed, and why.
    """

    path: Path
    id: str
    purpose: str
    state: str | None
    label: str
    job: str
    started: str
    program: str
    rig_text: str
    instrument_text: str | None
    calibration_texts: Mapping[str, str]
    passes: tuple[PassRecord, ...]
    end: str
    why: str


def read_scan(path: Path) -> Scan:
    """Read a scan file.

    FileError: not there, not HDF5, cut short, not a neckform scan, of a newer version or
    damaged; the message says which.
    """
    return read_file(path, lambda file: _scan(path, file["entry"]))


def _scan(path: Path, entry: Group) -> Scan:
    about, texts = entry["scan"], entry["texts"]
    calibrations = texts["calibrations"]
    return Scan(
        path=path,
        id=_required(about, "id"),
        purpose=_required(about, "purpose"),
        state=get_text(about, "state"),
        label=_required(about, "label"),
        job=_required(about, "job"),
        started=_required(about, "started"),
        program=_required(about, "program"),
        rig_text=_required(texts, "rig"),
        instrument_text=get_text(texts, "instrument"),
        calibration_texts={name: _required(calibrations, name) for name in calibrations},
        passes=_passes(entry),
        end=_required(about, "end"),
        why=_required(about, "why"),
    )


def _required(group: Group, name: str) -> str:
    text = get_text(group, name)
    if text is None:
        raise KeyError(f"{group.name}/{name} is missing")
    return text


def _passes(entry: Group) -> tuple[PassRecord, ...]:
    table = entry["passes"]
    rows = zip(*(table[name][()].tolist() for name in PASS_COLUMNS), strict=True)
    reasons = [tuple(json.loads(text)) for text in table["why"].asstr()[()]]
    samples, events = _samples(entry["samples"]), _events(entry["events"])
    return tuple(
        _pass(dict(zip(PASS_COLUMNS, row, strict=True)), why, samples, events.get(at, []))
        for at, (row, why) in enumerate(zip(rows, reasons, strict=True))
    )


def _pass(
    row: dict[str, Any], why: tuple[str, ...], samples: SampleBlock, events: list[Event]
) -> PassRecord:
    first = row["first"]
    return PassRecord(
        number=row["number"],
        lane=row["lane"],
        string=row["string"],
        direction=row["direction"],
        speed_mm_s=row["speed_mm_s"],
        y_set_mm=None if math.isnan(row["y_set_mm"]) else row["y_set_mm"],
        attempt=row["attempt"],
        good=bool(row["good"]),
        why=why,
        samples=samples[first : first + row["count"]],
        events=tuple(
            Event(event.t_us, event.word, event.text, event.at_sample - first) for event in events
        ),
        bad_frames=row["bad_frames"],
        lost=row["lost"],
    )


def _samples(group: Group) -> SampleBlock:
    return SampleBlock(*(group[name][()] for name in ("seq", "t_us", "x", "y", "raw", "temp")))


def _events(group: Group) -> dict[int, list[Event]]:
    """By row of the table of passes."""
    words, texts = group["word"].asstr()[()], group["text"].asstr()[()]
    columns = [group[name][()].tolist() for name in ("row", "t_us", "at_sample")]
    by_row: dict[int, list[Event]] = {}
    for row, t_us, at_sample, word, text in zip(*columns, words, texts, strict=True):
        by_row.setdefault(row, []).append(Event(t_us, str(word), str(text), at_sample))
    return by_row
