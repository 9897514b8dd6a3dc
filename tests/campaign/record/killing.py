"""A scan of the software rig, killed at some moment, and what it left."""

from __future__ import annotations

import hashlib
import json
import re
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from daq.cli.main import main
from daq.demo.bench import Bench
from daq.record.journal import read_journal
from daq.record.journal_format import JournalRecord, Kind
from daq.record.raw import records_of
from daq.record.recover import recover
from daq.record.scan import read_scan

from .tee import Tee

STATED_S = 0.5
Since = Literal["start", "journal", "pass", "sealing"]
RUN = [sys.executable, "-c", "from daq.cli.main import run; run()"]


class Shop:
    """A workshop of its own for a software rig with a strung neck on it."""

    def __init__(self, bench: Bench, folder: Path) -> None:
        files = bench.do("files", folder=str(folder))
        bench.do("place", what="neck")
        bench.do("state", state="strung")
        self.port = bench.port
        self.root = folder / "workshop"
        self.rig = Path(files["rig"])
        assert main([*self._words(f"job new one --instrument {files['instrument']}")]) == 0

    @property
    def scans(self) -> list[Path]:
        return sorted(self.root.rglob("*.h5"))

    @property
    def journals(self) -> list[Path]:
        return sorted(self.root.rglob("*.journal"))

    @property
    def halves(self) -> list[Path]:
        return sorted(self.root.rglob("*.part"))

    def scan(self, port: str) -> subprocess.Popen[str]:
        """A scan of the rig behind a port, just begun."""
        text = re.sub(r"port: [^,}\n]+", f"port: {port}", self.rig.read_text())
        behind = self.rig.with_name("behind.yaml")
        behind.write_text(text)
        return subprocess.Popen(
            [*RUN, *self.scanning(behind)],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )

    def scanning(self, rig: Path) -> list[str]:
        """The words of a scan's command."""
        return self._words(f"scan one --rig {rig} --state strung --yes")

    def _words(self, line: str) -> list[str]:
        return ["--workshop", str(self.root), *line.split()]


@dataclass(frozen=True)
class Killed:
    """What a kill left. left: in which state. late_s: how long the oldest byte that is in no file
    had been on this side of the cable. unread: bytes that the program had not taken yet."""

    after_s: float
    left: str
    passes: int
    kept_bytes: int
    late_s: float
    unread: int


def kill_one(
    shop: Shop, after_s: float = 120.0, since: Since = "start", journal_bytes: int = 0
) -> Killed:
    """Starts a scan, kills it so long after its beginning, the end of its first pass, the moment
    its journal has so many bytes, or the beginning of its scan file; recovers, and checks all of
    it. A scan that is quicker is not killed."""
    before = {path: digest(path) for path in shop.scans}
    with Tee(shop.port) as tee:
        with shop.scan(tee.port) as process:
            _wait_for(since, shop, process, journal_bytes)
            try:
                process.communicate(timeout=after_s)
            except subprocess.TimeoutExpired:
                process.kill()
            killed_s = time.monotonic()
        unread = tee.unread()
        left = _left(shop, before)
        kept = [list(read_journal(path)) for path in shop.journals]
        _recovered(shop, kept)
        new = [path for path in shop.scans if path not in before]
        assert {path: digest(path) for path in before} == before
        assert len(new) <= 1
        records = list(records_of(new[0])) if new else []
        late_s = _late_s(records, tee, killed_s, unread) if records else 0.0
    passes = len(read_scan(new[0]).passes) if new else 0
    kept_bytes = sum(len(record.payload) for record in records)
    return Killed(after_s, left, passes, kept_bytes, late_s, unread)


def _wait_for(since: Since, shop: Shop, process: subprocess.Popen[str], journal_bytes: int) -> None:
    if since == "pass":
        assert process.stderr is not None
        assert any(line.startswith("1/") for line in process.stderr), "no pass was made"
    while since in ("journal", "sealing") and process.poll() is None:
        size = sum(path.stat().st_size for path in shop.journals)
        if shop.halves if since == "sealing" else size > journal_bytes:
            break
        time.sleep(0.001)


def _recovered(shop: Shop, kept: list[list[JournalRecord]]) -> None:
    """A scan file of every journal that holds anything, to the last byte of it."""
    found = recover(shop.root)
    assert len(found) == len(kept)
    for one, records in zip(found, kept, strict=True):
        if records:
            assert one.scan is not None, one.why
            assert list(records_of(one.scan.path)) == records
        else:
            one.journal.unlink()
    assert not shop.journals
    assert not shop.halves


def _left(shop: Shop, before: dict[Path, str]) -> str:
    new = [path for path in shop.scans if path not in before]
    if new and shop.journals:
        return "scan file and journal"
    if new:
        return "scan file"
    if shop.halves:
        return "half a scan file and journal"
    if not shop.journals:
        return "nothing yet"
    notes = [
        json.loads(record.payload)["note"]
        for record in read_journal(shop.journals[0])
        if record.kind is Kind.NOTE
    ]
    if "scan_end" in notes:
        return "journal, ended"
    return "journal with passes" if "pass_begin" in notes else "journal without a pass"


def _late_s(records: list[JournalRecord], tee: Tee, killed_s: float, unread: int) -> float:
    """The record is one unbroken stretch of what came; how old its end was."""
    kept = b"".join(record.payload for record in records if record.kind is Kind.RX)
    came = tee.came
    at = came.find(kept)
    assert at >= 0, "what is recorded is not what came"
    end = at + len(kept)
    notes = [json.loads(r.payload)["note"] for r in records if r.kind is Kind.NOTE]
    if "scan_end" in notes or end >= len(came) - unread:
        return 0.0
    return killed_s - tee.came_at_s(end)


def digest(path: Path) -> str:
    """Of a file, to see whether it was touched."""
    return hashlib.sha256(path.read_bytes()).hexdigest()
