"""What a scan tells whoever watches it."""

from __future__ import annotations

from typing import Protocol

from daq.acquire.passes.gate import Verdict


class ProgressSink(Protocol):
    """A display, a log, a page: none of these methods may block."""

    def begin(self, total_passes: int) -> None:
        """The scan starts; repeats come on top of `total_passes`."""

    def pass_started(self, lane: int, string: float | None, direction: int, attempt: int) -> None:
        """A pass starts: direction +1 away from the nut, attempt from 1."""

    def samples(self, count: int, bad: int, lost: int, x_mm: float, rate_hz: float) -> None:
        """So many of this pass so far; the carriage's place and the rate by the rig's clock."""

    def pass_ended(self, verdict: Verdict) -> None:
        """The pass is over."""

    def pace(self, words: str) -> None:
        """How the person pushing the carriage is doing."""

    def notice(self, text: str) -> None:
        """Something to know that stops nothing."""

    def done(self) -> None:
        """No more passes: all are done, or the scan was given up."""


class NoProgress:
    """Nobody watches."""

    def begin(self, total_passes: int) -> None:
        """Says nothing."""

    def pass_started(self, lane: int, string: float | None, direction: int, attempt: int) -> None:
        """Says nothing."""

    def samples(self, count: int, bad: int, lost: int, x_mm: float, rate_hz: float) -> None:
        """Says nothing."""

    def pass_ended(self, verdict: Verdict) -> None:
        """Says nothing."""

    def pace(self, words: str) -> None:
        """Says nothing."""

    def notice(self, text: str) -> None:
        """Says nothing."""

    def done(self) -> None:
        """Says nothing."""
