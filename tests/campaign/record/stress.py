"""Two links at once into a journal on a disk that takes long to sync."""

from __future__ import annotations

import os
import time
from dataclasses import dataclass
from pathlib import Path

import pytest

from daq.acquire.rig.session import rig_session
from daq.files.rig import parse_rig
from daq.link.base import Link
from daq.record.journal import JournalWriter, read_journal
from daq.record.journal_format import Kind
from daq.record.notes import Links

from .spring import Spring

SYNC_S = 0.2
NOTE_EACH_S = 0.3
RIG = """\
name: two-springs
links:
  probe: {port: /dev/probe, baud: 460800, protocol: line}
  axis: {port: /dev/axis, baud: 460800, protocol: line}
carriage: {link: axis, drive: motor, mm_per_count: 0.005, travel_mm: [0, 640], speed_mm_s: 25}
sensor: {link: probe, kind: contact, mm_per_count: 0.001, rate_hz: 2000, tip_radius_mm: 1.0}
pads: [{from_mm: 4, to_mm: 16}, {from_mm: 600, to_mm: 614}]
"""


@dataclass(frozen=True)
class Stressed:
    """away_s: the longest that either reader was not reading. deepest: bytes waiting at most.
    lost: bytes that came and are not in the journal, by link."""

    samples: int
    syncs: int
    notes: int
    away_s: float
    deepest: int
    lost: tuple[int, int]


def stress(journal: Path, seconds: float, monkeypatch: pytest.MonkeyPatch) -> Stressed:
    """Streams both for so long, writing notes in between; every sync takes a fifth of a second."""
    syncs, fsync = [0], os.fsync

    def slow(fd: int) -> None:
        syncs[0] += 1
        time.sleep(SYNC_S)
        fsync(fd)

    monkeypatch.setattr(os, "fsync", slow)
    springs = {
        f"/dev/{name}": Spring(name, 2000, paced=True, room=lambda: True)
        for name in ("probe", "axis")
    }

    def opened(port: str, baud: int, framing: str) -> Link:
        return springs[port]

    deepest, notes = 0, 0
    rig_file = parse_rig(RIG, "rig.yaml")
    with JournalWriter(journal, links=2) as writer, rig_session(rig_file, opened) as rig:
        for spring in springs.values():
            spring.given.clear()
            spring.longest_away_s = 0.0
        with rig.keeping(writer):
            writer.note(Links(("probe", "axis")).as_note())
            rig.stream(2000)
            until_s = time.monotonic() + seconds
            for _ in rig.pump():
                deepest = max(deepest, rig.waiting_bytes)
                if time.monotonic() > until_s - seconds + NOTE_EACH_S * notes:
                    writer.note({"note": "stress", "number": notes})
                    notes += 1
                if time.monotonic() > until_s:
                    break
            rig.stop()
    kept = [r for r in read_journal(journal) if r.kind is Kind.RX]
    given = [bytes(spring.given) for spring in springs.values()]
    lost = [
        len(came) - len(b"".join(r.payload for r in kept if r.link == link))
        for link, came in enumerate(given)
    ]
    for link, came in enumerate(given):
        assert came.endswith(b"".join(r.payload for r in kept if r.link == link))
    away_s = max(spring.longest_away_s for spring in springs.values())
    samples = sum(spring.sent for spring in springs.values())
    return Stressed(samples, syncs[0], notes, away_s, deepest, (lost[0], lost[1]))
