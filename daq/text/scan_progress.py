"""A scan on the terminal: a live line where there is one, a line a pass where there is none."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TextIO

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn
from rich.table import Column
from rich.text import Text

from daq.acquire.passes.gate import Verdict
from daq.acquire.passes.words import lane_words, way_words

DRAW_EACH_S = 0.1


class PlainProgress:
    """A line for each pass, for a log or a pipe."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self._total = 0
        self._number = 0
        self._title = ""
        self._counts = (0, 0, 0)
        self._remarked: set[str] = set()

    def begin(self, total_passes: int) -> None:
        """The scan starts."""
        self._total, self._number = total_passes, 0

    def pass_started(self, lane: int, string: float | None, direction: int, attempt: int) -> None:
        """Remembers what the line of this pass begins with."""
        self._number += attempt == 1
        self._title = _title(lane, string, direction, attempt)
        self._counts = (0, 0, 0)

    def samples(self, count: int, bad: int, lost: int, x_mm: float, rate_hz: float) -> None:
        """Remembers the counts for the pass's line."""
        self._counts = (count, lost, bad)

    def pass_ended(self, verdict: Verdict) -> None:
        """Writes the pass's line."""
        self._say(f"{self._number}/{self._total} {_end(self._title, verdict, self._counts)}")
        for line in (*verdict.why, *_new(verdict.remarks, self._remarked)):
            self._say(f"    {line}")

    def pace(self, words: str) -> None:
        """Says nothing: it would be past before anybody read it."""

    def notice(self, text: str) -> None:
        """Writes it."""
        self._say(text)

    def done(self) -> None:
        """Says nothing."""

    @contextmanager
    def paused(self) -> Iterator[None]:
        """For a question in between."""
        yield

    def _say(self, text: str) -> None:
        print(text, file=self._stream, flush=True)


class RichProgress:
    """One live line: a bar over the passes, lane, pace, rate, lost samples, damaged frames."""

    def __init__(self, console: Console) -> None:
        self._console = console
        self._bar = Progress(
            TextColumn("{task.description}"),
            BarColumn(bar_width=10),
            MofNCompleteColumn(table_column=Column(no_wrap=True, min_width=5)),
            TextColumn("{task.fields[now]}", table_column=Column(no_wrap=True, overflow="crop")),
            console=console,
            transient=True,
            auto_refresh=False,  # or else a thread draws, and is left running for a moment
        )
        self._drawn_s = 0.0
        self._task = self._bar.add_task("homing", total=None, now="")
        self._title = ""
        self._pace = ""
        self._counts = (0, 0, 0)
        self._remarked: set[str] = set()

    def begin(self, total_passes: int) -> None:
        """Puts the line up."""
        self._bar.reset(self._task, total=total_passes, description="homing", now="")
        self._bar.start()

    def pass_started(self, lane: int, string: float | None, direction: int, attempt: int) -> None:
        """The line is about this pass now."""
        self._title = _title(lane, string, direction, attempt)
        self._pace = ""
        self._counts = (0, 0, 0)
        self._drawn_s = 0.0
        self._bar.update(self._task, description=self._title, now="to the start", refresh=True)

    def samples(self, count: int, bad: int, lost: int, x_mm: float, rate_hz: float) -> None:
        """The counts so far, drawn ten times a second at most however often this comes."""
        self._counts = (count, lost, bad)
        now_s = time.monotonic()
        if now_s - self._drawn_s < DRAW_EACH_S:
            return
        self._drawn_s = now_s
        parts = [f"x {x_mm:6.1f} mm", f"{rate_hz:.0f} Hz", f"{lost} lost", f"{bad} damaged"]
        self._bar.update(self._task, now="  ".join([*parts, self._pace]).rstrip(), refresh=True)

    def pass_ended(self, verdict: Verdict) -> None:
        """Says above the line how the pass was; a good one moves the bar."""
        if verdict.good:
            self._bar.advance(self._task)
        self._above(_end(self._title, verdict, self._counts), "" if verdict.good else "yellow")
        for line in verdict.why:
            self._above(f"    {line}", "yellow")
        for line in _new(verdict.remarks, self._remarked):
            self._above(f"    {line}", "dim")

    def pace(self, words: str) -> None:
        """Shown at the end of the line until it changes."""
        self._pace = words

    def notice(self, text: str) -> None:
        """Shown above the line."""
        self._above(text, "yellow")

    def done(self) -> None:
        """Takes the line away."""
        self._bar.stop()

    @contextmanager
    def paused(self) -> Iterator[None]:
        """Takes the line away while a question is asked."""
        shown = self._bar.live.is_started
        self._bar.stop()
        try:
            yield
        finally:
            if shown:
                self._bar.start()

    def _above(self, text: str, style: str) -> None:
        self._bar.console.print(Text(text, style=style))


def scan_progress(stream: TextIO | None = None) -> PlainProgress | RichProgress:
    """The display that suits a stream, standard error unless another is given.

    NO_COLOR takes the colours away and leaves the live line.
    """
    stream = stream or sys.stderr
    console = Console(file=stream)
    return RichProgress(console) if console.is_terminal else PlainProgress(stream)


def _new(remarks: tuple[str, ...], said: set[str]) -> list[str]:
    """Those not said before: what holds for every pass need not be told for every pass."""
    new = [remark for remark in remarks if remark not in said]
    said.update(new)
    return new


def _end(title: str, verdict: Verdict, counts: tuple[int, int, int]) -> str:
    """Whether the pass is good, and what it holds."""
    count, lost, bad = counts
    word = "good" if verdict.good else "not good"
    return f"{title}: {word} ({count:,} samples, {lost} lost, {bad} damaged)"


def _title(lane: int, string: float | None, direction: int, attempt: int) -> str:
    again = f", attempt {attempt}" if attempt > 1 else ""
    return f"lane {lane}, {lane_words(string)}, {way_words(direction)}{again}"
