"""A scan whose cable is pulled again and again in the middle of a pass, and put back."""

from __future__ import annotations

import json
import random
import threading
import time
from dataclasses import dataclass
from pathlib import Path

from daq.acquire.passes.lanes import LanePlan, both_ways
from daq.acquire.passes.progress import NoProgress
from daq.acquire.use import OwnRig
from daq.demo.bench import software_rig
from daq.files.rig import load_rig
from daq.link.base import Link
from daq.link.serial_port import SerialLink
from daq.record.journal_format import Kind
from daq.record.notes import ScanBegin
from daq.record.raw import records_of
from daq.record.scan import read_scan

LANES = 5


@dataclass(frozen=True)
class Pulled:
    """good, bad: passes. marks: in the record. in_pass: pulls that ended a pass it had begun.
    lost_bytes: read from the port and not in the record. threads, files: more of them after the
    scan than before it; most_files: more in the middle of it."""

    pulls: int
    good: int
    bad: int
    marks: int
    lost_bytes: int
    threads: int
    files: int
    most_files: int
    took_s: float


class Kept:
    """A port that remembers what was read from it."""

    def __init__(self, link: Link, came: bytearray) -> None:
        self._link = link
        self._came = came
        self.write = link.write
        self.close = link.close

    def read(self) -> bytes:
        data = self._link.read()
        self._came += data
        return data


class Puller(NoProgress):
    """Pulls once in each attempt, somewhere, until it has done so often enough."""

    def __init__(self, bench: object, most: int) -> None:
        self._bench = bench
        self._most = most
        self._at: int | None = None
        self.pulls = 0
        self.files: list[int] = []
        self.questions: list[str] = []
        self._is_out = False

    def pass_started(self, *_: object) -> None:
        self.files.append(files_open())
        # one attempt in eleven is let through: so every pass is pulled about as often
        spared = len(self.files) % 11 == 0 or self.pulls >= self._most
        self._at = None if spared else random.randrange(50, 4000)

    def samples(self, count: int, *_: object) -> None:
        if self._at is not None and count >= self._at:
            self._at = None
            self.pulls += 1
            self._is_out = True
            self._bench.do("pull")  # type: ignore[attr-defined]

    def answer(self, question: str) -> None:
        """What a person does who is asked."""
        self.questions.append(question)
        if self._is_out and "lug it in" in question:
            self._is_out = False
            self._bench.do("plug")  # type: ignore[attr-defined]


def pull(folder: Path, pulls: int) -> Pulled:
    """Scans five lanes both ways, with so many pulls."""
    with software_rig(5, "--link-folder", str(folder / "ports"), "--set", "rate_hz=200") as bench:
        files = bench.do("files", folder=str(folder))
        bench.do("place", what="neck")
        bench.do("state", state="strung")
        rig_file = load_rig(Path(files["rig"]))
        lanes = [
            LanePlan(n, n + 0.5, "between", (5.0, 18.0 - 7.0 * n), (611.0, 22.0 - 9.0 * n), False)
            for n in range(1, LANES + 1)
        ]
        came, puller, before = bytearray(), Puller(bench, pulls), (_threads(), files_open())

        def opened(port: str, baud: int, framing: str) -> Link:
            return Kept(SerialLink(port, baud, framing), came)

        rig_text = Path(files["rig"]).read_text()
        begin = ScanBegin("p1", "scan", "strung", "", "", "", "neckform 0", rig_text, None, {})
        began_s = time.monotonic()
        rig = OwnRig(rig_file, opened)
        path = rig.record(begin, both_ways(lanes, 25.0), folder / "a.h5", puller, puller.answer)
        took_s = time.monotonic() - began_s
        after = (_threads(), files_open())
    return _told(path, bytes(came), puller, before, after, took_s)


def _told(
    path: Path,
    came: bytes,
    puller: Puller,
    before: tuple[int, int],
    after: tuple[int, int],
    took_s: float,
) -> Pulled:
    records = list(records_of(path))
    kept = b"".join(record.payload for record in records if record.kind is Kind.RX)
    at = came.find(kept)
    assert at >= 0, "what is recorded is not what came"
    notes = [json.loads(r.payload)["note"] for r in records if r.kind is Kind.NOTE]
    passes = read_scan(path).passes
    return Pulled(
        pulls=puller.pulls,
        good=sum(one.good for one in passes),
        bad=sum(not one.good for one in passes),
        marks=notes.count("reconnected"),
        lost_bytes=len(came) - at - len(kept),
        threads=after[0] - before[0],
        files=after[1] - before[1],
        most_files=max(puller.files) - puller.files[0],
        took_s=took_s,
    )


def files_open() -> int:
    """Handles this process has open."""
    return len(list(Path("/proc/self/fd").iterdir()))


def _threads() -> int:
    return threading.active_count()
