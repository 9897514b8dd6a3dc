"""A look at a rig that stands still: does it answer, at what rate, how cleanly, how quietly."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass

import numpy as np

from calibration.clocks.clock import unwrap_u32
from calibration.clocks.fit import LEAST_SAMPLES
from calibration.drift.pads import PAD_MARGIN_MM
from calibration.drift.still import drift_advice_s
from calibration.spikes import noise_mm, spike_flags
from daq.acquire.health.link_health import ClockHealth, LinkHealth, clock_health, link_health
from daq.acquire.health.noise import still_noise
from daq.acquire.links.controller import Heard, Hello
from daq.acquire.links.device_time import DeviceTime
from daq.acquire.links.rig_faults import RigRefused
from daq.acquire.links.stream_watch import UNCLOCKED_SHARE
from daq.acquire.passes.pass_log import LinkLog, link_logs
from daq.acquire.rig.rig import Rig
from daq.acquire.rig.still import PATIENCE, watch
from daq.errors import RigError
from daq.files.rig import RigFile
from daq.wire.records import ABSENT, SampleBlock

#: How long a look lasts unless a longer one is asked for.
STILL_S = 2.0
#: Some samples may be lost, and links do not begin at one moment.
CLOCKS_SPARE = 1.5
#: Nothing can be said of drift from less than this.
LEAST_DRIFT_S = 20.0
#: A rate off by more than this, or more frames wrong than this, and a scan would fail.
RATE_SHARE = 0.02
WRONG_SHARE = 0.03


@dataclass(frozen=True, slots=True)
class RigHealth:
    """What a still rig shows.

    hello, rate_hz, samples: of the sensor's link. gaps, lost, bad_frames: of all links; `links`
    has each. noise_um: standard deviation of one reading, None without valid ones.
    pad_every_s: how often a scan should come back to a pad, by the Allan deviation; None from a
    look too short for it. invalid: samples without a valid reading. temperature_c: None where
    the rig measures none. y_mm: None where the rig does not count it. events: words, in order.
    clocks: None on one link. clock_fault: why the clocks of two could not be had, or empty.
    """

    hello: Hello
    asked_rate_hz: float
    rate_hz: float
    samples: int
    gaps: int
    lost: int
    bad_frames: int
    invalid: int
    noise_um: float | None
    pad_every_s: float | None
    temperature_c: float | None
    x_mm: float
    y_mm: float | None
    events: tuple[str, ...]
    links: tuple[LinkHealth, ...]
    clocks: ClockHealth | None
    clock_fault: str

    @property
    def faults(self) -> tuple[str, ...]:
        """What makes the rig unfit to scan, a phrase each; none where it is fit."""
        found = [fault for link in self.links for fault in self._of_link(link)]
        if self.clock_fault:
            found.append(f"the clocks of its links do not go together: {self.clock_fault}")
        return tuple(found)

    def _of_link(self, link: LinkHealth) -> Iterator[str]:
        where = f" on link {link.name} ({link.port})" if len(self.links) > 1 else ""
        asked_hz = min(self.asked_rate_hz, link.hello.max_rate_hz)  # a carriage may be slower
        share = RATE_SHARE if link.has_clock else UNCLOCKED_SHARE
        if abs(link.rate_hz / asked_hz - 1.0) > share:
            yield f"the rate{where} is {link.rate_hz:.1f} Hz where {asked_hz:g} Hz were asked for"
        wrong = link.lost + link.bad_frames
        if wrong > WRONG_SHARE * link.samples:
            yield (
                f"{wrong} of {link.samples + wrong} frames{where} were lost or damaged; shorten "
                "the cable, lower the baud rate or the sample rate"
            )


def check_rig(rig: Rig, rig_file: RigFile, still_s: float = STILL_S) -> RigHealth:
    """Streams for so long by the rig's clock with the carriage still.

    Where the sensor sees nothing there, a motor rig first drives onto its first pad: noise
    wants something to read. Raises RigError where the rig does not answer or sends no samples.
    """
    pieces = watch(rig, rig_file.sensor.rate_hz, STILL_S)
    if rig_file.carriage.drive == "motor" and not _sees(pieces):
        _onto_pad(rig, rig_file)
        pieces = []
    still_s = max(still_s, _clocks_s(rig_file, rig.hellos))
    if still_s > STILL_S or not pieces:
        pieces = watch(rig, rig_file.sensor.rate_hz, still_s)
    logs = link_logs(rig_file)
    for heard in pieces:
        logs[heard.link].add(heard)
    for log in logs:
        if len(log.seen.samples) < 2:
            raise RigError(
                f"{log.seen.who} accepts the stream but sent {len(log.seen.samples)} samples "
                f"in {PATIENCE * still_s:g} s; check its sensor"
            )
    return _health(rig_file, rig.hellos, logs)


def _clocks_s(rig_file: RigFile, hellos: tuple[Hello, ...]) -> float:
    """How long two links must be watched before their clocks can be known."""
    if len(hellos) == 1:
        return 0.0
    slowest_hz = min(rig_file.sensor.rate_hz, *(hello.max_rate_hz for hello in hellos))
    return CLOCKS_SPARE * LEAST_SAMPLES / slowest_hz


def _sees(pieces: list[Heard]) -> bool:
    return any((heard.batch.samples.raw != ABSENT).any() for heard in pieces if heard.reads)


def _onto_pad(rig: Rig, rig_file: RigFile) -> None:
    with suppress(RigRefused):  # a rig without an end stop counts from where it stands
        rig.home()
    pad = rig_file.pads[0]
    rig.move(0.5 * (pad.from_mm + pad.to_mm), None, None)


def _health(rig_file: RigFile, hellos: tuple[Hello, ...], logs: tuple[LinkLog, ...]) -> RigHealth:
    named = (rig_file.link_names, rig_file.used_links, rig_file.dialects)
    links = tuple(map(link_health, *named, hellos, logs))
    sensor, carriage = logs[0].seen, logs[-1].seen
    samples = sensor.samples
    valid = samples.raw[samples.raw != ABSENT]
    degrees = np.concatenate([log.seen.samples.temp for log in logs])
    degrees = degrees[degrees != ABSENT]
    noise = still_noise(valid)
    cross_mm = rig_file.cross_mm_per_count
    counted = cross_mm is not None and carriage.samples.y[-1] != ABSENT
    clocks, clock_fault = clock_health(rig_file, logs)
    return RigHealth(
        hello=hellos[0],
        asked_rate_hz=float(rig_file.sensor.rate_hz),
        rate_hz=links[0].rate_hz,
        samples=len(samples),
        gaps=sum(link.gaps for link in links),
        lost=sum(link.lost for link in links),
        bad_frames=sum(link.bad_frames for link in links),
        invalid=len(samples) - valid.size,
        noise_um=None if noise is None else noise * abs(rig_file.sensor.mm_per_count) * 1e3,
        pad_every_s=_pad_every_s(rig_file, samples),
        temperature_c=float(degrees.mean()) / 100 if degrees.size else None,
        x_mm=float(rig_file.x_mm(carriage.samples.x)[-1]),
        y_mm=float(carriage.samples.y[-1]) * cross_mm if counted and cross_mm is not None else None,
        events=tuple(event.word for log in logs for event in log.seen.events),
        links=links,
        clocks=clocks,
        clock_fault=clock_fault,
    )


def _pad_every_s(rig_file: RigFile, samples: SampleBlock) -> float | None:
    """By the Allan deviation of a long look; lost samples are bridged, spikes put back."""
    whole = DeviceTime()
    whole.add(samples)
    if whole.elapsed_s < LEAST_DRIFT_S or (samples.raw == ABSENT).any():
        return None
    heights = rig_file.z_mm(samples.raw)
    quantum = abs(rig_file.sensor.mm_per_count)
    heights = np.where(spike_flags(heights, noise_mm(heights, quantum)), np.nan, heights)
    index = unwrap_u32(samples.seq)
    seen = np.isfinite(heights)
    even = np.interp(np.arange(index[0], index[-1] + 1), index[seen], heights[seen])
    pad = rig_file.pads[0]
    speed, rate = rig_file.carriage.speed_mm_s, rig_file.sensor.rate_hz
    readings = max(2, int((pad.to_mm - pad.from_mm - 2 * PAD_MARGIN_MM) / speed * rate))
    return drift_advice_s(even, 1.0 / rate, readings, quantum)
