"""One small scan made of the protocol's own bytes, and copies of it that say other things."""

from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import h5py
import numpy as np
import pytest

from daq.archive.database import archive
from daq.archive.rows import SCAN_COLUMNS, ScanRow, put_scan, scan_row, scan_values
from daq.record.journal_format import JournalRecord, Kind
from daq.record.notes import Links, PassBegin, PassEnd, ScanBegin, ScanEnd
from daq.record.scanfile import build_scan
from daq.wire.line import encode

RIG = """\
name: bench
carriage: {mm_per_count: 0.005}
sensor: {mm_per_count: 0.001}
pads: [{from_mm: 4, to_mm: 16}, {from_mm: 600, to_mm: 614}]
"""
INSTRUMENT = "name: walnut parlour\nfrets: 22\nstrings: [{note: E4}, {note: B3}, {note: G3}]\n"
#: Of a reading, in counts of a micrometre.
NOISE = 3.0
SAMPLES, LOST, DAMAGED = 1500, 30, 2

Put = Callable[..., Path]


def _records() -> list[JournalRecord]:
    begin = ScanBegin(
        "scan-0", "scan", "strung", "", "parlour", "2024-05-03T16:02:10+02:00", "neckform 0.1.0",
        RIG, INSTRUMENT, {}, 0.25,
    )  # fmt: skip
    one = PassBegin(1, 1, 1.5, 1, 25.0, (4.0, None), (614.0, None), None, 1)
    notes = [begin, one], [PassEnd(1, True, ()), ScanEnd("done", "")]
    before, after = (
        [JournalRecord(Kind.NOTE, 1, json.dumps(note.as_note()).encode()) for note in some]
        for some in notes
    )
    return [*before, JournalRecord(Kind.RX, 2, _stream()), *after]


def two_links() -> list[JournalRecord]:
    """The same scan, the sensor on one link and the carriage on another; nothing lost."""
    records = _records()
    begin, *notes = records[:2]
    seqs, x, heights = _measured()
    read = (
        encode.sample(int(seq), 2500 * int(seq), 0, None, int(z), 2150)
        for seq, z in zip(seqs, heights, strict=True)
    )
    counted = (
        encode.sample(int(seq), 2500 * int(seq), int(at), None, None)
        for seq, at in zip(seqs, x, strict=True)
    )
    links = JournalRecord(Kind.NOTE, 1, json.dumps(Links(("probe", "axis")).as_note()).encode())
    frames = [
        JournalRecord(Kind.RX, 2_500_000 * at, frame, link)
        for at, both in enumerate(zip(read, counted, strict=True))
        for link, frame in enumerate(both)
    ]
    return [begin, links, *notes, *frames, *records[3:]]  # fmt: skip


def _measured() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Numbers, carriage counts and sensor counts: a third on the first pad, then over something
    rough."""
    rng = np.random.default_rng(4)
    seqs = np.r_[:700, 700 + LOST : SAMPLES + LOST]
    at = np.arange(SAMPLES)
    heights = np.rint(2000 + NOISE * rng.standard_normal(SAMPLES)).astype(int)
    heights[500:] += rng.integers(-400, 400, SAMPLES - 500)
    return seqs, 1000 + np.where(at < 500, at, 4000 + at), heights


def _stream() -> bytes:
    frames = [
        encode.sample(int(seq), 2500 * int(seq), int(at), None, int(z), 2150)
        for seq, at, z in zip(*_measured(), strict=True)
    ]
    return b"S,damaged*0000\n" * DAMAGED + b"".join(frames)  # fmt: skip


@pytest.fixture(scope="session")
def base_scan(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Nobody writes here."""
    path = tmp_path_factory.mktemp("base") / "base.h5"
    build_scan(_records(), path)
    return path


@pytest.fixture
def put(base_scan: Path) -> Put:
    """put(path, id="a", started=..., instrument="name: x"): a copy that says so."""

    def put(path: Path, **changed: Any) -> Path:
        path.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(base_scan, path)
        with h5py.File(path, "r+") as file:
            for name, value in {"id": path.stem, **changed}.items():
                group = "texts" if name in ("rig", "instrument") else "scan"
                del file[f"entry/{group}/{name}"]
                if value is not None:
                    file[f"entry/{group}/{name}"] = value
        return path

    return put


@pytest.fixture
def db(tmp_path: Path) -> Iterator[sqlite3.Connection]:
    with archive(tmp_path / "archive.db") as opened:
        yield opened


def rows_of(db: sqlite3.Connection) -> dict[str, ScanRow]:
    """By url."""
    found = db.execute(f"SELECT {', '.join(SCAN_COLUMNS)} FROM scans")
    return {row.url: row for row in map(scan_row, found)}


def put_rows(db: sqlite3.Connection, rows: list[ScanRow]) -> None:
    with db:
        db.executemany(put_scan(), map(scan_values, rows))


def put_reading(db: sqlite3.Connection, url: str, way: str = "w", **values: Any) -> None:
    given = {"url": url, "way": way, "outcome": "read", "read_at": "2026-01-01", **values}
    names, marks = ", ".join(given), ", ".join("?" * len(given))
    with db:
        db.execute(f"INSERT INTO readings ({names}) VALUES ({marks})", tuple(given.values()))
