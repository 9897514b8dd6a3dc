"""What sealing a long journal takes, in a process of its own."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from .longjournal import write_long_journal

SEALS = """
import json, sys, time
from pathlib import Path
from daq.record.recover import seal_journal
from daq.record.scanfile import build_scan
from daq.record.journal import read_journal

def most_mb():
    # not what getrusage tells: a new program inherits that from the one that started it
    lines = Path("/proc/self/status").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("VmHWM")) / 1000

journal, begun_mb, began = Path(sys.argv[1]), most_mb(), time.process_time()
build_scan(read_journal(journal), journal.with_suffix(".h5"))
built_mb = most_mb()
scan = seal_journal(journal, journal.with_suffix(".h5"))
print(json.dumps({
    "samples": sum(len(one.samples) for one in scan.passes), "begun_mb": begun_mb,
    "built_mb": built_mb, "sealed_mb": most_mb(), "took_s": time.process_time() - began,
}))
"""


@dataclass(frozen=True)
class Sealed:
    """What sealing took. begun, built, sealed: the most memory the process ever had by then."""

    samples: int
    begun_mb: float
    built_mb: float
    sealed_mb: float
    took_s: float
    journal_mb: float


def seal(folder: Path, samples: int, rate_hz: int) -> Sealed:
    """Makes a journal of so many samples and seals it."""
    journal = folder / f"{samples}.journal"
    write_long_journal(journal, samples, rate_hz)
    journal_mb = journal.stat().st_size / 1e6
    done = subprocess.run(
        [sys.executable, "-c", SEALS, str(journal)], capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    journal.with_suffix(".h5").unlink()
    return Sealed(**json.loads(done.stdout), journal_mb=journal_mb)
