"""What a process needs before its first command: streams that hold, one way of being stopped."""

from __future__ import annotations

import io
import os
import signal
import sys
from contextlib import suppress
from types import FrameType
from typing import TextIO, cast

#: Where the program itself stands in a command's context: the demo types into it.
PROGRAM = "neckform.program"
#: Ctrl-C, `kill`, and a terminal that was closed.
STOPS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


def prepare() -> None:
    """Makes the standard streams fit to write to and stops by signal orderly."""
    # many small matrices: threads would only wait for one another. Read when numpy is imported
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    open_closed_streams()
    if isinstance(sys.stdout, io.TextIOWrapper):
        # A terminal that lacks a sign, or a file name that is no text, is no reason to fail.
        sys.stdout.reconfigure(errors="backslashreplace")
    sys.stderr = cast(TextIO, LastingText(sys.stderr))
    stop_on_signals()


def open_closed_streams() -> None:
    """A standard stream that was closed goes nowhere.

    Left closed, its number would be given to the next file opened, a journal perhaps, and
    whatever is written to the stream would land in that.
    """
    for number in (0, 1, 2):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)
    sys.stdin = sys.stdin or open(0, closefd=False)  # noqa: SIM115
    sys.stdout = sys.stdout or open(1, "w", closefd=False)  # noqa: SIM115
    sys.stderr = sys.stderr or open(2, "w", closefd=False)  # noqa: SIM115


def stop_on_signals() -> None:
    """Every stop comes as KeyboardInterrupt, so that the rig is halted and what was read is kept.

    Only the first one counts: an impatient second must not cut the halting short. A signal that
    whoever started this process has had ignored stays so.
    """
    for number in STOPS:
        if signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, _stop)


def _stop(_number: int, _frame: FrameType | None) -> None:
    # Not SIG_IGN: Python complains of a second one that is under way while it is set.
    for number in STOPS:
        signal.signal(number, _stopping_already)
    raise KeyboardInterrupt


def _stopping_already(_number: int, _frame: FrameType | None) -> None:
    """Nothing more to do."""


class LastingText(io.TextIOBase):
    """A text stream that outlives its reader: a scan must not end because `head` has."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    @property
    def encoding(self) -> str:  # type: ignore[override]
        return self._stream.encoding

    def fileno(self) -> int:
        return self._stream.fileno()

    def isatty(self) -> bool:
        return self._stream.isatty()

    def writable(self) -> bool:
        return True

    def write(self, text: str) -> int:
        with suppress(BrokenPipeError):
            self._stream.write(text)
        return len(text)

    def flush(self) -> None:
        with suppress(BrokenPipeError):
            self._stream.flush()
