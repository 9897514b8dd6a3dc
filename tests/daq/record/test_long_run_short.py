"""The short form of the campaign of a simulated day."""

from __future__ import annotations

from pathlib import Path

from ...campaign.record.longrun import long_run


def test_memory_stays_flat(tmp_path: Path) -> None:
    told = long_run(tmp_path / "a.journal", periods=4, minutes=5)
    assert told[-1]["samples"] >= 4 * 5 * 60_000
    assert (told[-1]["lost"], told[-1]["bad"]) == (0, 0)
    assert told[-1]["memory_mb"] < told[1]["memory_mb"] + 5.0
