"""A pass pushed by hand: where it must start, when it is over, and how to push."""

from __future__ import annotations

from collections.abc import Callable
from math import inf

from daq.acquire.controller import Heard
from daq.acquire.gate import WIDEST_SPACING_MM
from daq.acquire.lanes import PassPlan, end_pads
from daq.acquire.place import Place
from daq.acquire.progress import ProgressSink
from daq.acquire.rig import Rig
from daq.acquire.rig_faults import RigStopped, stopped_line, stops
from daq.files.rig import PadEntry, RigFile

Ask = Callable[[str], None]
"""Shows a person what to do and returns once it is done; raises to give up."""

DEEP_SHARE = 0.75
REST_S = 1.0
LONGEST_PASS_S = 900.0
SLOW_SHARE = 0.1
PACE_EACH_S = 0.5


def reach_start(rig: Rig, rig_file: RigFile, plan: PassPlan, ask: Ask) -> None:
    """Has the person push the carriage onto the pad where the pass begins, if it is elsewhere."""
    name, pad = _pad(rig_file, far=plan.direction < 0)
    while not _is_on(pad, x_mm := _look(rig, rig_file.sensor.rate_hz)):
        ask(
            f"Push the carriage onto the {name} pad ({pad.from_mm:g} to {pad.to_mm:g} mm; it is at "
            f"{x_mm:.1f} mm)"
        )


def ask_to_push(rig_file: RigFile, plan: PassPlan, ask: Ask) -> None:
    """Tells the person what comes next. The samples start once they have agreed."""
    name, _ = _pad(rig_file, far=plan.direction > 0)
    ask(
        f"Ready? Then push the carriage to the {name} pad in one go, at about "
        f"{plan.speed_mm_s:g} mm/s, and let it rest there"
    )


def follow(rig: Rig, rig_file: RigFile, plan: PassPlan, progress: ProgressSink) -> None:
    """Receives samples until the carriage rests on the far pad, or is well onto it.

    Raises RigStopped where the rig resets. Returns as well after a quarter of an hour by the
    rig's clock: the gate will say what is wrong with such a pass.
    """
    _, pad = _pad(rig_file, far=plan.direction > 0)
    pace = Pace(rig_file.sensor.rate_hz, progress)
    coming = rig.pump()
    while not _is_over(pad, plan.direction, rig.place) and pace.lasts_s < LONGEST_PASS_S:
        _raise_stop(next(coming))
        pace.at(rig.place.time_s, rig.place.x_mm or 0.0)


class Pace:
    """Tells whoever pushes whether to go slower, and only when that changes."""

    def __init__(self, rate_hz: float, progress: ProgressSink) -> None:
        self._fastest_mm_s = WIDEST_SPACING_MM * rate_hz
        self._progress = progress
        self._began_s: float | None = None
        self._last_s = -inf
        self._last_mm = 0.0
        self._words = ""
        self.lasts_s = 0.0

    def at(self, time_s: float, x_mm: float) -> None:
        """The carriage is at x_mm at this time of the rig's clock."""
        if self._began_s is None:
            self._began_s, self._last_s, self._last_mm = time_s, time_s, x_mm
        self.lasts_s = time_s - self._began_s
        passed_s = time_s - self._last_s
        if passed_s < PACE_EACH_S:
            return
        words = self._judge(abs(x_mm - self._last_mm) / passed_s)
        self._last_s, self._last_mm = time_s, x_mm
        if words != self._words:
            self._words = words
            self._progress.pace(words)

    def _judge(self, speed_mm_s: float) -> str:
        if speed_mm_s > self._fastest_mm_s:
            return "too fast: slower, and this pass will be repeated"
        if speed_mm_s > 0.8 * self._fastest_mm_s:
            return "a little slower"
        if speed_mm_s < SLOW_SHARE * self._fastest_mm_s:
            return "push on"
        return "good"


def _pad(rig_file: RigFile, *, far: bool) -> tuple[str, PadEntry]:
    first, last = end_pads(rig_file)
    return ("last", last) if far else ("first", first)


def _look(rig: Rig, rate_hz: float) -> float:
    """Where the carriage is: a moment's stream tells."""
    seen: list[Heard] = []
    with rig.listening(seen.append):
        rig.stream(rate_hz)
        coming = rig.pump()
        while not any(heard.drives and len(heard.batch.samples) for heard in seen):
            _raise_stop(next(coming))
        rig.stop()
    return rig.place.x_mm or 0.0


def _is_on(pad: PadEntry, x_mm: float) -> bool:
    return pad.from_mm <= x_mm <= pad.to_mm


def _is_over(pad: PadEntry, direction: int, place: Place) -> bool:
    near_edge, far_edge = (pad.from_mm, pad.to_mm)[::direction]
    share = ((place.x_mm or 0.0) - near_edge) / (far_edge - near_edge)
    return share >= DEEP_SHARE or (share > 0 and place.still_s >= REST_S)


def _raise_stop(heard: Heard) -> None:
    for event in heard.batch.events:
        if stops(event, drives=heard.drives) and event.word != "endstop":
            raise RigStopped(stopped_line(event, drives=heard.drives))
