"""A pass while it runs: faults of the stream are told, and what cannot become good is ended."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from daq.acquire.links.controller import Heard, who_is_on
from daq.acquire.links.device_time import DeviceTime
from daq.acquire.links.rig_faults import PassSpoilt, RigStopped, stops
from daq.acquire.links.stream_fault import Changes, StreamFault
from daq.acquire.passes.gate import (
    FURTHEST_BACK_MM,
    LONGEST_HOLE_MM,
    MOST_LOST,
    hole_words,
    way_words,
)
from daq.acquire.passes.lanes import PassPlan, end_pads
from daq.acquire.passes.progress import ProgressSink
from daq.files.rig import RigFile

SLOWER = 2.0
"""A pass may take so many times as long as planned; what is lost is weighed against that."""


class PassWatch:
    """Hears all of a pass, and raises where going on is of no use.

    A rig that must be seen to (it started anew, its clock stands still, it repeats itself):
    RigStopped. A pass that the gate is sure to refuse (a hole, gone back, too much lost):
    PassSpoilt. What the rig says by events is left to those who wait for them.
    """

    def __init__(self, rig_file: RigFile, plan: PassPlan, progress: ProgressSink) -> None:
        first, last = end_pads(rig_file)
        self._edges_mm = first.to_mm, last.from_mm
        self._rig_file = rig_file
        self._direction = plan.direction
        self._progress = progress
        self._told = Changes()
        self._lost = tuple(DeviceTime() for _ in rig_file.link_names)
        way_mm = abs(plan.to_mm[0] - plan.from_mm[0])
        planned = way_mm / plan.speed_mm_s * rig_file.sensor.rate_hz
        by_hand = rig_file.carriage.drive == "hand"
        self._most_lost = np.inf if by_hand else MOST_LOST * SLOWER * planned
        self._last_mm: float | None = None
        self._furthest_mm = -np.inf

    def heard(self, heard: Heard) -> None:
        """The next piece, or nothing."""
        self._tell(heard)
        samples = heard.batch.samples
        if not len(samples):
            return
        lost = self._lost[heard.link]
        lost.add(samples)
        if lost.lost > self._most_lost:
            on = len(self._lost) > 1
            who = f"{who_is_on(self._rig_file, heard.link)}: " if on else ""
            raise PassSpoilt(
                f"{who}{lost.lost} of {lost.samples + lost.lost} samples lost so far; at most "
                f"{MOST_LOST:.0%} of a pass; check the cable and the baud rate"
            )
        if heard.drives:
            self._way(self._rig_file.x_mm(samples.x), holes=heard.reads)

    def _tell(self, heard: Heard) -> None:
        said = heard.batch.events
        if any(stops(event, drives=heard.drives) for event in said):
            return
        begun, over = self._told.of(heard.link, heard.faults)
        for fault in begun:
            self._raise(fault)
            self._progress.notice(fault.text)
        for fault in over:
            self._progress.notice(fault.over)

    def _raise(self, fault: StreamFault) -> None:
        if fault.ends_pass:
            raise RigStopped(fault.text)

    def _way(self, x_mm: NDArray[np.float64], *, holes: bool) -> None:
        """Between the pads: on, and without a hole. On two links a hole is told of the whole."""
        before = [] if self._last_mm is None else [self._last_mm]
        x_mm = np.concatenate([before, x_mm])
        self._last_mm = float(x_mm[-1])
        between = (x_mm > self._edges_mm[0]) & (x_mm < self._edges_mm[1])
        if holes and between.any():
            gap_mm = np.where(between[1:] | between[:-1], np.abs(np.diff(x_mm)), 0.0)
            if gap_mm.size and gap_mm.max() > LONGEST_HOLE_MM:
                at = int(np.argmax(gap_mm))
                raise PassSpoilt(hole_words(float(x_mm[at]), float(x_mm[at + 1])))
        way_mm = self._direction * x_mm
        furthest_mm = np.maximum(np.maximum.accumulate(way_mm), self._furthest_mm)
        self._furthest_mm = float(furthest_mm[-1])
        back_mm = np.where(between, furthest_mm - way_mm, 0.0)
        if back_mm.max() > FURTHEST_BACK_MM:
            at = int(np.argmax(back_mm))
            raise PassSpoilt(way_words(float(back_mm[at]), float(x_mm[at])))
