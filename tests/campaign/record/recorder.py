"""The recording half of the program, in a process of its own, with its costs measured.

python recorder.py PORT PROTOCOL RATE SAMPLES JOURNAL: records one pass of so many samples into
a new journal and prints, as JSON, what that took.
"""

from __future__ import annotations

import json
import resource
import sys
import time
from array import array
from pathlib import Path
from typing import Any

import numpy as np

from daq.acquire.links.controller import Heard
from daq.acquire.rig.rig import Rig
from daq.acquire.rig.session import rig_session
from daq.files.rig import parse_rig
from daq.record.journal import JournalWriter
from daq.record.notes import Dialects, PassBegin, PassEnd, ScanBegin, ScanEnd

RIG = """\
name: fed
links:
  rig: {{port: {port}, baud: 4000000, protocol: {protocol}}}
carriage: {{link: rig, drive: motor, mm_per_count: 0.005, travel_mm: [0, 640], speed_mm_s: 25}}
sensor: {{link: rig, kind: contact, mm_per_count: 0.001, rate_hz: {rate_hz}, tip_radius_mm: 1.0}}
pads: [{{from_mm: 4, to_mm: 16}}, {{from_mm: 600, to_mm: 614}}]
"""
EVERY_S = 3.0
"""How often memory is looked at."""
FAR_MM = 600.0


class Watched:
    """What the recorder heard, counted as it came."""

    def __init__(self, rig: Rig) -> None:
        self._rig = rig
        self._began_s = time.monotonic()
        self.deepest_bytes = 0
        self.memory_mb = [_resident_mb()]
        self.samples = 0
        self.bad_frames = 0
        self.in_order = True
        self.log = array("d")
        self._next_seq = 0

    def add(self, heard: Heard) -> None:
        seq = heard.batch.samples.seq
        self.bad_frames += heard.batch.bad_frames
        self.in_order &= bool((seq == np.arange(self._next_seq, self._next_seq + seq.size)).all())
        self.samples += seq.size
        self._next_seq += seq.size
        self.deepest_bytes = max(self.deepest_bytes, self._rig.waiting_bytes)
        if time.monotonic() - self._began_s > EVERY_S * len(self.memory_mb):
            self.memory_mb.append(_resident_mb())
        if seq.size:
            self.log.extend((time.monotonic(), self.samples))

    def told(self, took_s: float, cpu_s: float) -> dict[str, Any]:
        return {
            "samples": self.samples,
            "in_order": self.in_order,
            "bad_frames": self.bad_frames,
            "took_s": took_s,
            "core_share": cpu_s / took_s,
            "turns_a_second": len(self.log) / 2 / took_s,
            "deepest_bytes": self.deepest_bytes,
            "memory_mb": self.memory_mb,
            "log": list(zip(self.log[::2], self.log[1::2], strict=True)),
        }


def main() -> None:
    port, protocol, rate_hz, samples, path = sys.argv[1:]
    text = RIG.format(port=port, protocol=protocol, rate_hz=rate_hz)
    rig_file = parse_rig(text, "rig.yaml")
    with (
        JournalWriter(Path(path)) as journal,
        rig_session(rig_file) as rig,
        rig.keeping(journal),
    ):
        journal.note(_begin(text).as_note())
        spoken = tuple((one.protocol, one.settings()) for one in rig_file.dialects)
        journal.note(Dialects(spoken).as_note())
        journal.note(_pass().as_note())
        watched = Watched(rig)
        before, began_s = resource.getrusage(resource.RUSAGE_SELF), time.monotonic()
        with rig.listening(watched.add):
            rig.stream(int(rate_hz))
            rig.move(FAR_MM, None, FAR_MM * int(rate_hz) / int(samples))
        took_s, after = time.monotonic() - began_s, resource.getrusage(resource.RUSAGE_SELF)
        journal.note(PassEnd(1, True, ()).as_note())
        journal.note(ScanEnd("done", "").as_note())
    cpu_s = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    sys.stdout.write(json.dumps(watched.told(took_s, cpu_s)) + "\n")


def _begin(text: str) -> ScanBegin:
    return ScanBegin(
        "fed-1", "scan", None, "", "", "2026-01-01T00:00:00+00:00", "neckform 0", text, None, {}
    )


def _pass() -> PassBegin:
    return PassBegin(1, 0, float("nan"), 1, 25.0, (4.0, None), (614.0, None), 0.0, 1)


def _resident_mb() -> float:
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * resource.getpagesize() / 1e6


if __name__ == "__main__":
    main()
