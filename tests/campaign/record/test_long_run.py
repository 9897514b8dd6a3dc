"""Twenty-four simulated hours at 1 kHz: flat memory, nothing lost, faster than real time."""

from __future__ import annotations

from pathlib import Path

import pytest

from .longrun import long_run
from .table import show

HOURS = 24
MOST_MORE_MB = 5.0


@pytest.mark.campaign
def test_a_day_in_flat_memory(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    told = long_run(tmp_path / "day.journal", HOURS, 60)
    names = ("period", "samples", "lost", "bad", "messages", "memory_mb", "took_s")
    rows = [[one[name] for name in names] for one in told]
    show(capfd, "simulated hours at 1 kHz", [("hour", *names[1:]), *rows])
    assert told[-1]["samples"] >= HOURS * 3_600_000
    assert told[-1]["lost"] == told[-1]["bad"] == 0
    assert told[-1]["took_s"] < HOURS * 3600
    memory_mb = [one["memory_mb"] for one in told[1:]]
    assert max(memory_mb) < memory_mb[0] + MOST_MORE_MB
