"""How a person pushes the carriage: told live, in a few words."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from daq.acquire.passes.gate import widest_spacing_mm
from daq.acquire.passes.lanes import PassPlan, end_pads
from daq.acquire.passes.progress import ProgressSink
from daq.files.rig import RigFile

EACH_S = 0.25
FAST_SHARE = 0.8
SLOW_SHARE = 0.1
STANDING_MM_S = 1.0
#: A shorter stretch pushed too fast is not worth a line of its own.
LEAST_STRETCH_MM = 5.0


class Pace:
    """Judges the push four times a second by the rig's clock, and tells of it when it changes.

    The fastest that is good is where samples lie as far apart as the gate lets them. Going back
    and holes end a pass by themselves (`PassWatch`).
    """

    def __init__(self, plan: PassPlan, rig_file: RigFile, progress: ProgressSink) -> None:
        first, last = end_pads(rig_file)
        self._between_mm = first.to_mm, last.from_mm
        self._direction = plan.direction
        self._fastest_mm_s = widest_spacing_mm(plan, rig_file) * rig_file.sensor.rate_hz
        self._progress = progress
        self._began_s: float | None = None
        self._last_s = -inf
        self._last_mm = 0.0
        self._fast_from_mm: float | None = None
        self._words = ""
        self.lasts_s = 0.0

    def at(self, time_s: float, x_mm: float) -> None:
        """The carriage is at x_mm at this time of the rig's clock."""
        if self._began_s is None:
            self._began_s, self._last_s, self._last_mm = time_s, time_s, x_mm
        self.lasts_s = time_s - self._began_s
        passed_s = time_s - self._last_s
        if passed_s < EACH_S:
            return
        speed_mm_s = self._direction * (x_mm - self._last_mm) / passed_s
        self._stretch(speed_mm_s, x_mm)
        words = next(self._judge(speed_mm_s, x_mm))
        self._last_s, self._last_mm = time_s, x_mm
        if words != self._words:
            self._words = words
            self._progress.pace(words)

    def _judge(self, speed_mm_s: float, x_mm: float) -> Iterator[str]:
        """The first holds. Where it stands or goes back the place is told: it tells it is seen."""
        if self._fast_from_mm is not None:
            yield f"too fast since {self._fast_from_mm:.0f} mm: slower"
        if speed_mm_s > FAST_SHARE * self._fastest_mm_s:
            yield "a little slower"
        if speed_mm_s < -STANDING_MM_S:
            yield "going back: the other way"
        if speed_mm_s < STANDING_MM_S:
            yield f"stands at {x_mm:.0f} mm: push on"
        if speed_mm_s < SLOW_SHARE * self._fastest_mm_s:
            yield "too slow: push on"
        yield "good"

    def _stretch(self, speed_mm_s: float, x_mm: float) -> None:
        """Where it went too fast, between the pads."""
        between = self._between_mm[0] < x_mm < self._between_mm[1]
        if speed_mm_s > self._fastest_mm_s and between:
            if self._fast_from_mm is None:
                self._fast_from_mm = self._last_mm
            return
        if self._fast_from_mm is not None:
            start_mm, self._fast_from_mm = self._fast_from_mm, None
            if abs(self._last_mm - start_mm) >= LEAST_STRETCH_MM:
                self._progress.notice(
                    f"too fast from {start_mm:.0f} to {self._last_mm:.0f} mm: slower on the rest, "
                    "or the pass is to be repeated"
                )
