"""Simulated time recorded as fast as it can be, in a process of its own, and its memory."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

Told = dict[str, Any]


def long_run(journal: Path, periods: int, minutes: int) -> list[Told]:
    """What was told before the first period and after each: samples, memory_mb, took_s, ..."""
    words = [str(Path(__file__).with_name("days.py")), str(periods), str(minutes), str(journal)]
    done = subprocess.run([sys.executable, *words], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    journal.unlink()
    return [json.loads(line) for line in done.stdout.splitlines()]
