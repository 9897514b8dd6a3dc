"""SIGKILL while a journal is being written, and disks that are full."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from daq.record.journal import is_live, read_journal
from daq.record.journal_format import Kind
from daq.record.notes import ScanBegin
from daq.record.recover import recover

WRITES_UNTIL_KILLED = """
import json, sys
from pathlib import Path
from daq.acquire.links.inbox import Chunk
from daq.record.journal import JournalWriter
from daq.wire.line import encode
journal = JournalWriter(Path(sys.argv[1]))
journal.note(json.loads(sys.argv[2]))
begin = {"note": "pass_begin", "pass": 0, "lane": 0, "string": 1, "direction": 1,
         "speed_mm_s": 25, "from_mm": [0, None], "to_mm": [600, None], "y_mm": 0, "attempt": 1}
journal.note(begin)
seq = 0
while True:
    for _ in range(20):
        journal.rx([Chunk(seq, encode.sample(seq, seq, seq, None, seq))])
        seq += 1
    journal.sync()
    print(seq, flush=True)
"""

WRITES_TO_A_FULL_DISK = """
import json, resource, sys
from pathlib import Path
from daq.acquire.links.inbox import Chunk
from daq.errors import FileError
from daq.record.journal import JournalWriter, read_journal
from daq.record.scanfile import build_scan
path, limit = Path(sys.argv[1]), int(sys.argv[3])
journal = JournalWriter(path)
journal.note(json.loads(sys.argv[2]))
resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
written = 0
try:
    while True:
        journal.rx([Chunk(written + more, b"x" * 100) for more in range(7)])
        written += 7
except FileError as error:
    print(error)
journal.close()
try:
    resource.setrlimit(resource.RLIMIT_FSIZE, (300, limit))
    build_scan(read_journal(path), path.with_suffix(".h5"))
except FileError as error:
    print(error)
"""


def start(script: str, path: Path, begin: ScanBegin, *more: str) -> subprocess.Popen[str]:
    arguments = [sys.executable, "-c", script, str(path), json.dumps(begin.as_note()), *more]
    return subprocess.Popen(arguments, stdout=subprocess.PIPE, text=True)


@pytest.mark.parametrize("syncs", [1, 7, 40])
def test_nothing_synced_is_lost_and_the_rest_is_a_clean_start(
    tmp_path: Path, begin: ScanBegin, syncs: int
) -> None:
    path = tmp_path / "a.journal"
    with start(WRITES_UNTIL_KILLED, path, begin) as child:
        assert child.stdout is not None
        acknowledged = [int(child.stdout.readline()) for _ in range(syncs)][-1]
        assert is_live(path)
        child.kill()
        child.wait(30)
    received = [record for record in read_journal(path) if record.kind is Kind.RX]
    assert len(received) >= acknowledged == 20 * syncs
    assert [record.t_ns for record in received] == list(range(len(received)))

    (found,) = recover(tmp_path)
    assert found.scan is not None
    (one,) = found.scan.passes
    assert one.samples.seq.tolist() == list(range(len(received)))
    assert (one.good, one.why, found.scan.end) == (False, ("interrupted",), "interrupted")
    assert not path.exists()


def test_full_disk_is_told_and_what_was_written_is_kept(tmp_path: Path, begin: ScanBegin) -> None:
    path = tmp_path / "a.journal"
    with start(WRITES_TO_A_FULL_DISK, path, begin, "5000") as child:
        printed = child.communicate(timeout=60)[0].splitlines()
    assert child.returncode == 0
    journal_told, scan_told = printed
    _, *received = read_journal(path)
    assert journal_told == (
        f"{path}: writing the journal failed (File too large); the {1 + len(received)} records "
        f"written before are kept. Free space on that disk, then run: neckform recover {tmp_path}"
    )
    assert scan_told == f"{tmp_path / 'a.h5'}: cannot be written: File too large"
    assert [record.t_ns for record in received] == list(range(len(received)))
    # the disk was full within what came in one turn
    assert len(received) > 10
    assert len(received) % 7
    assert [entry.name for entry in tmp_path.iterdir()] == ["a.journal"]
