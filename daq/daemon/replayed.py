"""A recorded scan served as a rig: its passes one after the other, and no motion."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from daq.daemon.ears import ear_for
from daq.errors import InputError
from daq.files.rig import RigFile, parse_rig
from daq.link.base import Link
from daq.link.replayed import ReplayedLink, Tape
from daq.record.journal_format import JournalRecord, Kind
from daq.record.notes import PassBegin, PassEnd, parse_note
from daq.record.raw import records_of
from daq.record.scan import read_scan

LONGEST_PAUSE_S = 0.5
"""What lies between two passes, or is quiet, is cut to this."""


@dataclass(frozen=True, slots=True)
class Replayed:
    """A rig file whose ports lead to a recording, and how they are opened."""

    rig_file: RigFile
    open_link: Callable[[str, int, str], Link]


def replayed(scan: Path) -> Replayed:
    """The rig of a scan file, as it sent in its passes.

    Raises FileError where the scan cannot be read, InputError where it has no passes.
    """
    rig_file = _renamed(parse_rig(read_scan(scan).rig_text, f"{scan} (rig file inside)"), scan)
    tapes = _tapes(records_of(scan), len(rig_file.used_links))
    if tapes is None:
        raise InputError(f"{scan}: found no pass with bytes in it; allowed a scan with passes")
    began_s = time.monotonic()
    by_port = {
        link.port: (tape, ear_for(link.protocol, f"recorded-{name}", rig_file.sensor.rate_hz))
        for name, link, tape in zip(rig_file.link_names, rig_file.used_links, tapes, strict=True)
    }

    def open_link(port: str, _baud: int, _framing: str) -> Link:
        tape, ear = by_port[port]
        return ReplayedLink(tape, began_s, ear())

    return Replayed(rig_file, open_link)


def _renamed(rig_file: RigFile, scan: Path) -> RigFile:
    """Its ports are the recording, not those it was made on: a rig there may be at work."""
    links = {
        name: link.model_copy(update={"port": f"{scan.absolute()}:{name}"})
        for name, link in rig_file.links.items()
    }
    return rig_file.model_copy(update={"links": links})


def _tapes(records: Iterable[JournalRecord], links: int) -> list[Tape] | None:
    """What each link sent in the passes, on one time; None where one of them sent nothing."""
    chunks: list[list[tuple[float, bytes]]] = [[] for _ in range(links)]
    now_s, last_ns, in_pass = 0.0, 0, False
    for record in records:
        if record.kind is Kind.NOTE:
            note = parse_note(record.payload)
            in_pass = isinstance(note, PassBegin) or (in_pass and not isinstance(note, PassEnd))
        elif record.kind is Kind.RX and in_pass:
            now_s += min(max(record.t_ns - last_ns, 0) / 1e9, LONGEST_PAUSE_S)
            last_ns = record.t_ns
            chunks[record.link].append((now_s, record.payload))
    if not all(chunks):
        return None
    return [Tape(mine, now_s + LONGEST_PAUSE_S) for mine in chunks]
