"""Bring what was written to the disk before long, without making the writer wait."""

from __future__ import annotations

import os
import threading


class Syncer:
    """A thread that syncs a file a set time after it was marked as written to.

    fd: the open file; it stays the caller's to close, after `close` here.
    every_s: how long after the first unsynced write the sync starts.
    """

    def __init__(self, fd: int, every_s: float) -> None:
        self._fd = fd
        self._every_s = every_s
        self._written = threading.Event()
        self._closing = threading.Event()
        self.error: OSError | None = None
        self._thread = threading.Thread(target=self._run, name="journal-sync", daemon=True)
        self._thread.start()

    def mark(self) -> None:
        """Something was written."""
        if not self._written.is_set():
            self._written.set()

    def close(self) -> None:
        """End the thread; what is unsynced stays for the caller to sync."""
        self._closing.set()
        self._written.set()
        self._thread.join()

    def _run(self) -> None:
        while self.error is None:
            self._written.wait()
            if self._closing.wait(self._every_s):
                return
            # Cleared before the sync: a write during it marks the file anew.
            self._written.clear()
            # It may have been `close` that marked it, just after the wait had run out.
            if self._closing.is_set():
                return
            try:
                os.fsync(self._fd)
            except OSError as error:
                self.error = error
