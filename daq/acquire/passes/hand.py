"""A pass pushed by hand: where it must start, when it is over, and how to push."""

from __future__ import annotations

from collections.abc import Callable

from daq.acquire.links.controller import Heard
from daq.acquire.links.rig_faults import RigStopped, stopped_line, stops
from daq.acquire.passes.lanes import PassPlan, end_pads
from daq.acquire.passes.pace import Pace
from daq.acquire.passes.progress import ProgressSink
from daq.acquire.rig.place import Place
from daq.acquire.rig.rig import Rig
from daq.files.rig import PadEntry, RigFile

Ask = Callable[[str], None]
"""Shows a person what to do and returns once it is done; raises to give up."""

DEEP_SHARE = 0.75
REST_S = 1.0
LONGEST_PASS_S = 900.0


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
    pace = Pace(plan, rig_file, progress)
    coming = rig.pump()
    while not _is_over(pad, plan.direction, rig.place) and pace.lasts_s < LONGEST_PASS_S:
        _raise_stop(next(coming))
        pace.at(rig.place.time_s, rig.place.x_mm or 0.0)


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
