"""A look at a rig that stands still: does it answer, at what rate, how cleanly, how quietly."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass

import numpy as np

from calibration.clock import unwrap_u32
from calibration.drift import PAD_MARGIN_MM
from calibration.spikes import noise_mm, spike_flags
from calibration.stability import drift_advice_s
from daq.acquire.device_time import DeviceTime
from daq.acquire.noise import still_noise
from daq.acquire.rig import Hello, Rig
from daq.acquire.rig_faults import RigRefused
from daq.acquire.session import OpenLink, rig_session
from daq.acquire.sink import NullSink
from daq.acquire.still import PATIENCE, look
from daq.errors import RigError
from daq.files.rig import RigFile
from daq.link.serial_port import SerialLink
from daq.wire.records import ABSENT, Batch, SampleBlock

#: How long a look lasts unless a longer one is asked for.
STILL_S = 2.0
#: Nothing can be said of drift from less than this.
LEAST_DRIFT_S = 20.0
#: A rate off by more than this, or more frames wrong than this, and a scan would fail.
RATE_SHARE = 0.02
WRONG_SHARE = 0.03


@dataclass(frozen=True, slots=True)
class RigHealth:
    """What a still rig shows.

    rate_hz: by the rig's own clock. samples, gaps, lost, bad_frames: of this look; a gap is a
    run of lost samples. noise_um: standard deviation of one reading, None without valid ones.
    pad_every_s: how often a scan should come back to a pad, by the Allan deviation; None from a
    look too short for it. invalid: samples without a valid reading. temperature_c: None where
    the rig measures none. y_mm: None where the rig does not count it. events: words, in order.
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

    @property
    def faults(self) -> tuple[str, ...]:
        """What makes the rig unfit to scan, a phrase each; none where it is fit."""
        found = []
        if abs(self.rate_hz / self.asked_rate_hz - 1.0) > RATE_SHARE:
            found.append(
                f"the rate is {self.rate_hz:.1f} Hz where {self.asked_rate_hz:g} Hz were asked for"
            )
        wrong = self.lost + self.bad_frames
        if wrong > WRONG_SHARE * self.samples:
            found.append(
                f"{wrong} of {self.samples + wrong} frames were lost or damaged; shorten the "
                "cable, lower the baud rate or the sample rate"
            )
        return tuple(found)


def check_rig(
    rig_file: RigFile, still_s: float = STILL_S, *, open_link: OpenLink = SerialLink
) -> RigHealth:
    """Streams for so long by the rig's clock with the carriage still.

    Where the sensor sees nothing there, a motor rig first drives onto its first pad: noise
    wants something to read. Raises RigError where the rig does not answer or sends no samples.
    """
    with rig_session(rig_file, NullSink(), open_link) as (rig, hello):
        batches = look(rig, rig_file.sensor.rate_hz, STILL_S)
        if rig_file.carriage.drive == "motor" and not _sees(batches):
            _onto_pad(rig, rig_file)
            batches = []
        if still_s > STILL_S or not batches:
            batches = look(rig, rig_file.sensor.rate_hz, still_s)
    samples = SampleBlock.concatenate(batch.samples for batch in batches)
    if len(samples) < 2:
        raise RigError(
            f"the rig on {rig.port} accepts the stream but sent {len(samples)} samples in "
            f"{PATIENCE * still_s:g} s; check its sensor"
        )
    return _health(rig_file, hello, batches, samples)


def _sees(batches: list[Batch]) -> bool:
    return any((batch.samples.raw != ABSENT).any() for batch in batches)


def _onto_pad(rig: Rig, rig_file: RigFile) -> None:
    with suppress(RigRefused):  # a rig without an end stop counts from where it stands
        rig.home()
    pad = rig_file.pads[0]
    rig.move(0.5 * (pad.from_mm + pad.to_mm), None, None)


def _health(
    rig_file: RigFile, hello: Hello, batches: list[Batch], samples: SampleBlock
) -> RigHealth:
    whole = DeviceTime()
    whole.add(samples)
    valid = samples.raw[samples.raw != ABSENT]
    degrees = samples.temp[samples.temp != ABSENT]
    noise = still_noise(valid)
    cross_mm = rig_file.cross_mm_per_count
    counted = cross_mm is not None and samples.y[-1] != ABSENT
    return RigHealth(
        hello=hello,
        asked_rate_hz=float(rig_file.sensor.rate_hz),
        rate_hz=whole.rate_hz,
        samples=len(samples),
        gaps=whole.gaps,
        lost=whole.lost,
        bad_frames=sum(batch.bad_frames for batch in batches),
        invalid=len(samples) - valid.size,
        noise_um=None if noise is None else noise * abs(rig_file.sensor.mm_per_count) * 1e3,
        pad_every_s=_pad_every_s(rig_file, samples, whole),
        temperature_c=float(degrees.mean()) / 100 if degrees.size else None,
        x_mm=float(rig_file.x_mm(samples.x)[-1]),
        y_mm=float(samples.y[-1]) * cross_mm if counted and cross_mm is not None else None,
        events=tuple(event.word for batch in batches for event in batch.events),
    )


def _pad_every_s(rig_file: RigFile, samples: SampleBlock, whole: DeviceTime) -> float | None:
    """By the Allan deviation of a long look; lost samples are bridged, spikes put back."""
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
