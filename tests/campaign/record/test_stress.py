"""A minute of two links, notes in between, on a disk that takes a fifth of a second to sync."""

from __future__ import annotations

from pathlib import Path

import pytest

from .stress import SYNC_S, stress
from .table import show

SECONDS = 60.0


@pytest.mark.campaign
def test_no_reader_waits_for_the_disk(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    found = stress(tmp_path / "a.journal", SECONDS, monkeypatch)
    head = ("samples", "syncs", "notes", "reader away ms", "most waiting bytes", "bytes lost")
    row = (found.samples, found.syncs, found.notes, 1e3 * found.away_s, found.deepest, found.lost)
    show(capfd, f"{SECONDS:g} s, each sync {1e3 * SYNC_S:g} ms", [head, row])
    assert found.lost == (0, 0)
    assert found.away_s < 0.9 * SYNC_S
    assert found.deepest < 3 * SYNC_S * 2 * 2000 * 50
