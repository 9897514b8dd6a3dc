"""The syncing thread ends whenever it is closed."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from daq.record.syncer import Syncer


class ClosedAsTheWaitRunsOut(threading.Event):
    """Runs out of its wait, and is set, with the file marked, before anybody looks again."""

    def __init__(self, written: threading.Event) -> None:
        super().__init__()
        self._written = written

    def wait(self, timeout: float | None = None) -> bool:
        self.set()
        self._written.set()
        return False


def test_closed_just_after_its_wait_ran_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It once cleared the very mark that was to wake it, and slept for good."""
    with (tmp_path / "journal").open("wb") as file:
        syncer = Syncer(file.fileno(), 60.0)
        monkeypatch.setattr(syncer, "_closing", ClosedAsTheWaitRunsOut(syncer._written))
        syncer.mark()
        syncer._thread.join(timeout=10.0)
        assert not syncer._thread.is_alive()
