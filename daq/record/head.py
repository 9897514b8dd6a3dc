"""What a scan file says of itself, read without reading the scan."""

from __future__ import annotations

import math
from dataclasses import dataclass
from io import RawIOBase
from pathlib import Path

import numpy as np

from daq.record.hdf5 import Group, get_text, reading, reading_bytes, required_text
from daq.record.samples import LINK_GROUPS
from daq.record.scanfile import LINK_PREFIXES
from daq.wire.records import ABSENT, IntColumn

FIRST_SAMPLES = 2**14
"""So many are read: a pass or two of a slow sensor, of a fast one the pad it begins on."""


@dataclass(frozen=True, slots=True, eq=False)
class ScanHead:
    """A scan without its passes. Texts as in `Scan`.

    samples, bad_frames, lost: of all links. x, raw, temp: int32[n], the first samples of the
    sensor's link in counts, `FIRST_SAMPLES` at most; `ABSENT` marks an empty cell. Where the
    carriage has a link of its own, x is where it was when a sample came, to some milliseconds.
    """

    id: str
    purpose: str
    state: str | None
    job: str
    started: str
    rig_text: str
    instrument_text: str | None
    rod_turns: float
    samples: int
    bad_frames: int
    lost: int
    x: IntColumn
    raw: IntColumn
    temp: IntColumn


def read_head(path: Path) -> ScanHead:
    """The head of a scan file. ScanFault as `daq.record.hdf5.reading`."""
    with reading(path) as file:
        return _head(file["entry"])


def read_head_bytes(named: str, source: RawIOBase) -> ScanHead:
    """The head of a scan file that is open already. ScanFault as `read_head`."""
    with reading_bytes(named, source) as file:
        return _head(file["entry"])


def _head(entry: Group) -> ScanHead:
    about, texts, counts = entry["scan"], entry["texts"], entry["counts"]
    sensor = entry[LINK_GROUPS[0]]
    return ScanHead(
        id=required_text(about, "id"),
        purpose=required_text(about, "purpose"),
        state=get_text(about, "state"),
        job=required_text(about, "job"),
        started=required_text(about, "started"),
        rig_text=required_text(texts, "rig"),
        instrument_text=get_text(texts, "instrument"),
        rod_turns=rod_turns_of(about),
        samples=_sum(counts, "samples"),
        bad_frames=_sum(counts, "bad_frames"),
        lost=_sum(counts, "lost"),
        x=_x(entry, sensor),
        raw=sensor["raw"][:FIRST_SAMPLES],
        temp=sensor["temp"][:FIRST_SAMPLES],
    )


def _x(entry: Group, sensor: Group) -> IntColumn:
    """By arrival where there are two links: a pad is wide, and the clocks need the whole scan."""
    if LINK_GROUPS[1] not in entry:
        own: IntColumn = sensor["x"][:FIRST_SAMPLES]
        return own
    carriage = entry[LINK_GROUPS[1]]
    counts, came_ns = carriage["x"][:FIRST_SAMPLES], carriage["arrival_ns"][:FIRST_SAMPLES]
    at_ns = sensor["arrival_ns"][:FIRST_SAMPLES]
    if not counts.size:
        return np.full(at_ns.size, ABSENT, np.int32)
    placed = np.interp(at_ns, came_ns, counts)
    seen = (at_ns >= came_ns[0]) & (at_ns <= came_ns[-1])
    return np.where(seen, np.rint(placed), ABSENT).astype(np.int32)


def rod_turns_of(about: Group) -> float:
    """A file from before rods were told of is one of a rod nobody turned."""
    turns = float(about["rod_turns"][()]) if "rod_turns" in about else 0.0
    if not math.isfinite(turns):
        raise ValueError(f"rod_turns is {turns}")
    return turns


def _sum(counts: Group, name: str) -> int:
    """Of the sensor's link and, where it has one, the carriage's."""
    own, other = (f"{before}{name}" for before in LINK_PREFIXES)
    return int(counts[own][()]) + (int(counts[other][()]) if other in counts else 0)
