"""The scan file: built once from the journal's records, whole or not at all."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from pathlib import Path

import h5py
import numpy as np
from numpy.typing import NDArray

from daq.errors import FileError
from daq.record.assemble import AssembledScan, assemble
from daq.record.hdf5 import CACHE_BYTES, FORMAT, Group, new_group, put_column, put_text, put_texts
from daq.record.journal_format import JournalRecord
from daq.record.newfile import Patient, new_file
from daq.record.plot import put_profile
from daq.record.raw import RawStore
from daq.record.samples import SampleStore

LINK_PREFIXES = ("", "carriage_")
"""The sensor's, and the carriage's where it has a link of its own."""
SPAN_COLUMNS = ("first", "count", "bad_frames", "lost", "gaps")


def build_scan(records: Iterable[JournalRecord], path: Path) -> None:
    """Write the scan file of these records, of which few are in memory at any time.

    FileError: the name is taken, the disk is full, or the records hold no scan. Nothing is
    left at `path` then, and where the records came from is not touched.
    """
    with new_file(path) as disk, h5py.File(disk, "w", rdcc_nbytes=CACHE_BYTES) as file:
        try:
            _put_scan(file, _while_taken(records, disk))
        except FileError as error:
            raise FileError(f"{path}: not built: {error}") from error


def _while_taken(records: Iterable[JournalRecord], disk: Patient) -> Iterator[JournalRecord]:
    """The records, for as long as the disk takes what becomes of them."""
    for record in records:
        if disk.refused is not None:
            raise disk.refused
        yield record


def _put_scan(file: Group, records: Iterable[JournalRecord]) -> None:
    entry = new_group(file, "entry", "NXentry")
    entry.attrs["default"] = "profile"
    raw, samples = RawStore(entry), SampleStore(entry)
    scan = assemble(raw.kept(records), samples)
    raw.finish(len(scan.samples))
    samples.finish(len(scan.samples))
    program, _, version = scan.begin.program.partition(" ")
    file.attrs.update(NX_class="NXroot", default="entry", creator=program, creator_version=version)
    put_text(entry, "title", _title(scan))
    put_text(entry, "start_time", scan.begin.started)
    put_text(entry, "program_name", program)
    entry["program_name"].attrs["version"] = version
    put_profile(entry, scan)
    _put_description(entry, scan)
    _put_texts(entry, scan)
    _put_passes(entry, scan)
    _put_events(entry, scan)
    _put_counts(entry, scan)


def _title(scan: AssembledScan) -> str:
    words = (scan.begin.job, scan.begin.state, scan.begin.purpose, scan.begin.label)
    return " ".join(word for word in words if word)


def _put_description(entry: Group, scan: AssembledScan) -> None:
    """/entry/scan: what the scan was for and how it ended, one string each."""
    group = new_group(entry, "scan", "NXcollection")
    put_text(group, "format", FORMAT)
    group["format_version"] = max(1, len(scan.link_names))
    for name in ("id", "purpose", "state", "label", "job", "started", "program"):
        put_text(group, name, getattr(scan.begin, name))
    group["rod_turns"] = scan.begin.rod_turns
    put_text(group, "end", scan.end.end)
    put_text(group, "why", scan.end.why)


def _put_texts(entry: Group, scan: AssembledScan) -> None:
    """/entry/texts: the files used, word for word."""
    group = new_group(entry, "texts", "NXcollection")
    put_text(group, "rig", scan.begin.rig_text)
    put_text(group, "instrument", scan.begin.instrument_text)
    calibrations = new_group(group, "calibrations", "NXcollection")
    for name, text in scan.begin.calibration_texts.items():
        put_text(calibrations, name, text)


def _put_passes(entry: Group, scan: AssembledScan) -> None:
    """/entry/passes: one row a pass; NaN where a number does not apply."""
    group = new_group(entry, "passes", "NXcollection")
    begins = [one.begin for one in scan.passes]
    for name in ("number", "lane", "direction", "attempt"):
        put_column(group, name, np.array([getattr(begin, name) for begin in begins], np.int32))
    for link, before in enumerate(LINK_PREFIXES[: len(scan.samples)]):
        for name in SPAN_COLUMNS:
            counts = [getattr(one.spans[link], name) for one in scan.passes]
            put_column(group, before + name, np.array(counts, np.int64))
    put_column(group, "good", np.array([one.good for one in scan.passes], np.uint8))
    put_column(group, "string", _floats([begin.string for begin in begins]))
    speeds = [begin.speed_mm_s for begin in begins]
    put_column(group, "speed_mm_s", _floats(speeds), units="mm/s")
    places: dict[str, list[float | None]] = {
        "from_x_mm": [begin.from_mm[0] for begin in begins],
        "from_y_mm": [begin.from_mm[1] for begin in begins],
        "to_x_mm": [begin.to_mm[0] for begin in begins],
        "to_y_mm": [begin.to_mm[1] for begin in begins],
        "y_set_mm": [begin.y_mm for begin in begins],
    }
    for name, values in places.items():
        put_column(group, name, _floats(values), units="mm")
    put_texts(group, "why", [json.dumps(one.why, ensure_ascii=False) for one in scan.passes])


def _floats(values: Iterable[float | None]) -> NDArray[np.float64]:
    return np.array([np.nan if value is None else value for value in values], np.float64)


def _put_events(entry: Group, scan: AssembledScan) -> None:
    """/entry/events: what the rig said by itself; at_sample counts the samples of its link."""
    group = new_group(entry, "events", "NXcollection")
    events = [placed.event for placed in scan.events]
    put_column(group, "t_us", np.array([event.t_us for event in events], np.uint32), units="us")
    put_column(group, "at_sample", np.array([event.at_sample for event in events], np.int64))
    row = np.array([placed.row for placed in scan.events], np.int64)
    put_column(group, "row", row, meaning="row of /entry/passes, -1 outside any")
    if scan.link_names:
        link = np.array([placed.link for placed in scan.events], np.uint8)
        put_column(group, "link", link, meaning="0 the sensor's, 1 the carriage's")
    put_texts(group, "word", [event.word for event in events])
    put_texts(group, "text", [event.text for event in events])


def _put_counts(entry: Group, scan: AssembledScan) -> None:
    """/entry/counts: over the whole scan; bad frames between passes are in here too."""
    group = new_group(entry, "counts", "NXcollection")
    for link, before in enumerate(LINK_PREFIXES[: len(scan.samples)]):
        group[f"{before}samples"] = scan.samples[link]
        group[f"{before}bad_frames"] = scan.bad_frames[link]
        group[f"{before}lost"] = sum(one.spans[link].lost for one in scan.passes)
        group[f"{before}gaps"] = sum(one.spans[link].gaps for one in scan.passes)
