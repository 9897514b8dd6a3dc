"""The scan on the terminal, live and as plain lines."""

from __future__ import annotations

import io
import threading

import pytest
from rich.console import Console

from daq.acquire.passes.gate import Verdict
from daq.text.scan_progress import PlainProgress, RichProgress, scan_progress


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def two_attempts(progress: PlainProgress | RichProgress) -> None:
    progress.begin(2)
    progress.notice("the cross slide [y] stays")
    progress.pass_started(1, 1.5, 1, 1)
    progress.samples(9800, 3, 20, 613.0, 400.0)
    progress.pass_ended(Verdict(False, ("nothing was measured over 0.71 mm",)))
    progress.pass_started(1, 1.5, 1, 2)
    progress.samples(9801, 0, 0, 613.0, 400.0)
    progress.pace("good")
    progress.pass_ended(Verdict(True, (), ("the sensor went out of its range 1 time",)))
    progress.pass_started(1, 1.5, -1, 1)
    progress.samples(100, 1, 2, 613.0, 400.0)
    with progress.paused():
        pass
    progress.done()


def test_plain_lines() -> None:
    stream = io.StringIO()
    two_attempts(PlainProgress(stream))
    assert stream.getvalue() == (
        "the cross slide [y] stays\n"
        "1/2 lane 1, between strings 1 and 2, away from the nut: not good "
        "(9,800 samples, 20 lost, 3 damaged)\n"
        "    nothing was measured over 0.71 mm\n"
        "1/2 lane 1, between strings 1 and 2, away from the nut, attempt 2: good "
        "(9,801 samples, 0 lost, 0 damaged)\n"
        "    the sensor went out of its range 1 time\n"
    )


def test_a_second_scan_of_the_same_command_counts_from_one() -> None:
    stream, terminal = io.StringIO(), Terminal()
    for progress in (PlainProgress(stream), RichProgress(Console(file=terminal, width=160))):
        for _ in range(2):
            progress.begin(1)
            progress.pass_started(1, None, 1, 1)
            progress.pass_ended(Verdict(True, ()))
            progress.done()
    assert stream.getvalue().count("1/1 ") == 2
    assert "2/1" not in stream.getvalue() + terminal.getvalue()


@pytest.mark.parametrize("no_color", [False, True])
def test_the_live_line(no_color: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")
    if no_color:
        monkeypatch.setenv("NO_COLOR", "1")
    stream = Terminal()
    threads = threading.active_count()
    two_attempts(RichProgress(Console(file=stream, width=160)))
    shown = stream.getvalue()
    assert "the cross slide [y] stays" in shown
    assert "nothing was measured over 0.71 mm" in shown
    assert "x  613.0 mm  400 Hz  2 lost  1 damaged" in shown
    assert ("\x1b[33m" in shown) is not no_color
    assert threading.active_count() == threads


def test_a_remark_is_made_once() -> None:
    stream = io.StringIO()
    progress = PlainProgress(stream)
    for _ in range(3):
        progress.pass_ended(Verdict(True, (), ("the sensor went out of its range 1 time",)))
    assert stream.getvalue().count("out of its range") == 1


def test_the_display_suits_the_stream(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("FORCE_COLOR", "TTY_COMPATIBLE"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("TERM", "xterm")
    assert isinstance(scan_progress(io.StringIO()), PlainProgress)
    assert isinstance(scan_progress(Terminal()), RichProgress)
