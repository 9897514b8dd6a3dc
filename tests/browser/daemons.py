"""`neckform serve` as a process of its own, that can die and be begun again at its old door."""

from __future__ import annotations

import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx

PROGRAM = "from daq.cli.main import run; run()"
END_S = 10.0


class Daemon:
    """root: its workshop. words: what to serve, as on the command line."""

    def __init__(self, root: Path, *words: str) -> None:
        self.root = root
        self.port = 0
        self._words = words
        self._process: subprocess.Popen[str] | None = None

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}/"

    def start(self) -> None:
        """At a free port, and ever after at that one; back once the rig is watched."""
        serve = ["--workshop", str(self.root), "serve", *self._words, "--port", str(self.port)]
        with (self.root / "daemon.log").open("a") as log:
            self._process = subprocess.Popen(
                [sys.executable, "-c", PROGRAM, *serve],
                stdout=subprocess.PIPE,
                stderr=log,
                text=True,
            )
        assert self._process.stdout is not None
        line = self._process.stdout.readline()
        assert line.startswith("serving "), (self.root / "daemon.log").read_text()
        self.port = httpx.URL(line.split(" at ")[1].strip()).port or 0
        self._until_watched()

    def kill(self) -> None:
        """At once, as a power cut would end it."""
        self._end(signal.SIGKILL)

    def stop(self) -> None:
        """As a person would, so that its rig of software ends too."""
        self._end(signal.SIGTERM)

    def ask(self, path: str, body: object = None) -> httpx.Response:
        """What a program asks it beside the page."""
        method = "GET" if body is None else "POST"
        return httpx.request(method, f"{self.url}v1/{path}", json=body, timeout=30)

    def _end(self, number: signal.Signals) -> None:
        if self._process is None:
            return
        with self._process as process:
            self._process = None
            process.send_signal(number)
            process.wait(END_S)

    def _until_watched(self) -> None:
        url = f"{self.url}v1/events?after=0&live=false"
        with httpx.stream("GET", url, timeout=20) as answer:
            assert any('"watching"' in line for line in answer.iter_lines())


@contextmanager
def served(root: Path, *words: str) -> Iterator[Daemon]:
    """A daemon that is gone when the block ends."""
    root.mkdir(parents=True, exist_ok=True)
    daemon = Daemon(root, *words)
    try:
        daemon.start()
        yield daemon
    finally:
        daemon.stop()
