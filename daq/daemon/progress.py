"""A work's progress as events."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from typing import Any

from daq.acquire.passes.gate import Verdict
from daq.acquire.passes.progress import ProgressSink
from daq.daemon.hub import Hub

TELL_EACH_S = 0.1


class HubProgress:
    """Every step an event. on_pass: called as a pass starts."""

    def __init__(self, work: str, hub: Hub, on_pass: Callable[[], None]) -> None:
        self._work = work
        self._hub = hub
        self._on_pass = on_pass
        self._told_s = 0.0

    def begin(self, total_passes: int) -> None:
        """The scan starts."""
        self._tell("begin", total_passes=total_passes)

    def pass_started(self, lane: int, string: float | None, direction: int, attempt: int) -> None:
        """A pass starts."""
        self._on_pass()
        self._told_s = 0.0
        string = None if string is None or string != string else string
        self._tell("pass_started", lane=lane, string=string, direction=direction, attempt=attempt)

    def samples(self, count: int, bad: int, lost: int, x_mm: float, rate_hz: float) -> None:
        """Ten times a second at most; not told to who comes later."""
        now_s = time.monotonic()
        if now_s - self._told_s < TELL_EACH_S:
            return
        self._told_s = now_s
        told = {"count": count, "bad": bad, "lost": lost, "x_mm": x_mm, "rate_hz": rate_hz}
        self._hub.publish(
            "progress", {"work": self._work, "step": "samples", "with": told}, kept=False
        )

    def pass_ended(self, verdict: Verdict) -> None:
        """The pass is over."""
        self._tell(
            "pass_ended",
            verdict={
                "good": verdict.good,
                "why": list(verdict.why),
                "remarks": list(verdict.remarks),
            },
        )

    def pace(self, words: str) -> None:
        """How the person pushing is doing."""
        self._tell("pace", words=words)

    def notice(self, text: str) -> None:
        """Something to know."""
        self._tell("notice", text=text)

    def done(self) -> None:
        """No more passes."""
        self._tell("done")

    def _tell(self, step: str, **details: Any) -> None:
        self._hub.publish("progress", {"work": self._work, "step": step, "with": details})


def relay(event: Mapping[str, Any], progress: ProgressSink) -> None:
    """Does to `progress` what was done to the HubProgress that gave this event's data."""
    details = dict(event["with"])
    match event["step"]:
        case "pass_ended":
            said = details["verdict"]
            progress.pass_ended(Verdict(said["good"], tuple(said["why"]), tuple(said["remarks"])))
        case "begin":
            progress.begin(**details)
        case "pass_started":
            progress.pass_started(**details)
        case "samples":
            progress.samples(**details)
        case "pace":
            progress.pace(**details)
        case "notice":
            progress.notice(**details)
        case "done":
            progress.done()
