"""A scan as the rest of the program takes it, read from its file."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from calibration.clocks.two import TwoClocks
from daq.record.hdf5 import Group, get_text, reading, required_text
from daq.record.head import rod_turns_of
from daq.record.merge import Merged, merge_what_can_be
from daq.record.samples import read_links
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
    samples: in counts; on a rig of two links the sensor's that could be placed, with the
    carriage's counts where each was taken. events: at_sample counts from the pass's first sample.
    bad_frames, lost: of all links; lost are samples missing by their running numbers.
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
    end: done, interrupted or failed, and why. clocks: how those of two links were laid over one
    another, None on one link and where they could not be. rod_turns: how far the truss rod stood
    from where it stood when the job was opened, tightening positive.
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
    clocks: TwoClocks | None = None
    rod_turns: float = 0.0


def read_scan(path: Path) -> Scan:
    """Read a scan file.

    FileError: not there, not HDF5, cut short, not a neckform scan, of a newer version or
    damaged; the message says which.
    """
    with reading(path) as file:
        return _scan(path, file["entry"])


def read_rod_turns(path: Path) -> float:
    """How far the rod stood at a scan, without reading the scan. FileError as `read_scan`."""
    with reading(path) as file:
        return rod_turns_of(file["entry"]["scan"])


def read_started(path: Path) -> str:
    """When a scan was begun, without reading the scan. FileError as `read_scan`."""
    with reading(path) as file:
        return required_text(file["entry"]["scan"], "started")


def _scan(path: Path, entry: Group) -> Scan:
    about, texts = entry["scan"], entry["texts"]
    calibrations = texts["calibrations"]
    merged = merge_what_can_be(read_links(entry))
    return Scan(
        path=path,
        id=required_text(about, "id"),
        purpose=required_text(about, "purpose"),
        state=get_text(about, "state"),
        label=required_text(about, "label"),
        job=required_text(about, "job"),
        started=required_text(about, "started"),
        program=required_text(about, "program"),
        rig_text=required_text(texts, "rig"),
        instrument_text=get_text(texts, "instrument"),
        calibration_texts={name: required_text(calibrations, name) for name in calibrations},
        passes=_passes(entry, merged),
        end=required_text(about, "end"),
        why=required_text(about, "why"),
        clocks=merged.clocks,
        rod_turns=rod_turns_of(about),
    )


def _passes(entry: Group, merged: Merged) -> tuple[PassRecord, ...]:
    table = entry["passes"]
    columns = {name: table[name][()] for name in PASS_COLUMNS}
    for name in ("bad_frames", "lost"):
        if f"carriage_{name}" in table:
            columns[name] = columns[name] + table[f"carriage_{name}"][()]
    # rows of the sensor's link to rows of what is left of it
    columns["end"] = merged.rows(0, columns["first"] + columns["count"])
    columns["first"] = merged.rows(0, columns["first"])
    reasons = [tuple(json.loads(text)) for text in table["why"].asstr()[()]]
    events = _events(entry["events"], merged)
    rows = zip(*(column.tolist() for column in columns.values()), strict=True)
    return tuple(
        _pass(dict(zip(columns, row, strict=True)), why, merged.samples, events.get(at, []))
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
        samples=samples[first : row["end"]],
        events=tuple(
            Event(event.t_us, event.word, event.text, event.at_sample - first) for event in events
        ),
        bad_frames=row["bad_frames"],
        lost=row["lost"],
    )


def _events(group: Group, merged: Merged) -> dict[int, list[Event]]:
    """By row of the table of passes; at_sample in the merged samples, whichever link it is of."""
    words, texts = group["word"].asstr()[()], group["text"].asstr()[()]
    at_sample = group["at_sample"][()]
    link = group["link"][()] if "link" in group else np.zeros(at_sample.size, np.uint8)
    own, other = merged.rows(0, at_sample), merged.rows(1, at_sample)
    at_sample = np.where(link == 0, own, other).tolist()
    by_row: dict[int, list[Event]] = {}
    columns = [group[name][()].tolist() for name in ("row", "t_us")]
    for row, t_us, at, word, text in zip(*columns, at_sample, words, texts, strict=True):
        by_row.setdefault(row, []).append(Event(t_us, str(word), str(text), at))
    return by_row
