"""Readings of a carriage that stands still."""

from __future__ import annotations

import time

from daq.acquire.links.controller import Heard
from daq.acquire.links.device_time import DeviceTime
from daq.acquire.rig.rig import Rig
from daq.wire.records import SampleBlock

#: However fast or slow the rig, our own clock gives up after this many times what was asked for.
PATIENCE = 5.0


def watch(rig: Rig, rate_hz: float, device_s: float) -> list[Heard]:
    """Streams for so long by the rig's clock, at most PATIENCE times that by ours."""
    pieces: list[Heard] = []
    seen = DeviceTime()

    def listen(heard: Heard) -> None:
        pieces.append(heard)
        if heard.reads:
            seen.add(heard.batch.samples)

    until_s = time.monotonic() + PATIENCE * device_s
    with rig.listening(listen):
        rig.stream(rate_hz)
        coming = rig.pump()
        while seen.elapsed_s < device_s and time.monotonic() < until_s:
            next(coming)
        rig.stop()
    return pieces


def look(rig: Rig, rate_hz: float, device_s: float) -> SampleBlock:
    """What such a watch brings over the sensor's link."""
    pieces = watch(rig, rate_hz, device_s)
    return SampleBlock.concatenate(heard.batch.samples for heard in pieces if heard.reads)
