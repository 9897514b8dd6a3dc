"""What a live view shows of a stream, however fast: lows and highs, so that spikes stay seen."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from daq.acquire.links.controller import Heard
from daq.acquire.links.device_time import DeviceTime
from daq.daemon.places import Places, taken_ns
from daq.daemon.profile import LiveProfile
from daq.files.rig import RigFile
from daq.wire.records import ABSENT, SampleBlock

FloatArray = NDArray[np.float64]
EACH_S = 0.04
"""25 messages a second at most."""
MOST_BINS = 8
"""Of one message: 5 ms of the trace each, or a sample each where samples come slower."""
RATE_OVER_S = 1.0


@dataclass(frozen=True, slots=True)
class Seen:
    """A moment of the stream, as a page or a person reads it.

    from_ms, at_ms: when its oldest and newest sample came, milliseconds since 1970. x_mm: where
    the carriage is; None before it was heard of. z_mm: the newest reading, uncorrected; None
    without one. rate_hz: over the last second, by the rig's clock. lost, bad: since `Live` began.
    """

    from_ms: float
    at_ms: float
    x_mm: float | None
    z_mm: float | None
    rate_hz: float
    samples: int
    lost: int
    gaps: int
    bad: int


class Live:
    """Follows a stream and gives a message of it now and then."""

    def __init__(self, rig_file: RigFile) -> None:
        self._rig_file = rig_file
        self.profile = LiveProfile(rig_file.carriage.travel_mm)
        self.bad = 0
        self.time = DeviceTime()
        self._other = DeviceTime()
        self._rates: deque[tuple[float, int]] = deque()
        self._places = Places()
        self._x_mm: float | None = None
        self._own: list[FloatArray] = []
        self._blocks: list[SampleBlock] = []
        self._arrivals: list[NDArray[np.int64]] = []
        self._due_s = 0.0
        self.seen: Seen | None = None

    def add(self, heard: Heard, now_s: float) -> dict[str, Any] | None:
        """The next piece; a message where one is due. now_s: monotonic seconds."""
        samples = heard.batch.samples
        self.bad += heard.batch.bad_frames
        if heard.drives and len(samples):
            self._carriage(samples, heard)
        if not heard.reads:
            self._other.add(samples)
        elif len(samples):
            self.time.add(samples)
            self._blocks.append(samples)
            self._arrivals.append(heard.arrival_ns)
        if not self._blocks or now_s < self._due_s:
            return None
        # pieces come every 20 ms or so: what was a little late must not make all that follow late
        self._due_s = max(self._due_s + EACH_S, now_s)
        return self._message()

    def _message(self) -> dict[str, Any]:
        samples = SampleBlock.concatenate(self._blocks)
        arrival_ns = np.concatenate(self._arrivals)
        self._blocks, self._arrivals = [], []
        z_mm = np.where(samples.raw == ABSENT, np.nan, self._rig_file.z_mm(samples.raw))
        placed = self._placed(taken_ns(samples.t_us, arrival_ns), z_mm)
        strip = None if placed is None else self.profile.add(*placed)
        self.seen = self._moment(arrival_ns, z_mm)
        low, high = lows_and_highs(z_mm)
        return {
            **document(self.seen),
            "low": numbers(low),
            "high": numbers(high),
            "profile": strip,
        }

    def _carriage(self, samples: SampleBlock, heard: Heard) -> None:
        x_mm = self._rig_file.x_mm(samples.x)
        self._x_mm = round(float(x_mm[-1]), 4)
        if heard.reads:
            self._own.append(x_mm)
        else:
            self._places.passed(taken_ns(samples.t_us, heard.arrival_ns), x_mm)

    def _placed(
        self, when_ns: NDArray[np.int64], z_mm: FloatArray
    ) -> tuple[FloatArray, FloatArray] | None:
        """Readings where they were taken: x_mm, z_mm. On one link a sample has its place."""
        if self._own:
            x_mm, self._own = np.concatenate(self._own), []
            return x_mm, z_mm
        return self._places.read(when_ns, z_mm)

    def _moment(self, arrival_ns: NDArray[np.int64], z_mm: FloatArray) -> Seen:
        read = z_mm[np.isfinite(z_mm)]
        return Seen(
            from_ms=round(float(arrival_ns[0]) / 1e6, 2),
            at_ms=round(float(arrival_ns[-1]) / 1e6, 2),
            x_mm=self._x_mm,
            z_mm=round(float(read[-1]), 5) if read.size else None,
            rate_hz=round(self._rate_hz(), 2),
            samples=self.time.samples,
            lost=self.time.lost + self._other.lost,
            gaps=self.time.gaps + self._other.gaps,
            bad=self.bad,
        )

    def _rate_hz(self) -> float:
        rates = self._rates
        rates.append((self.time.elapsed_s, self.time.samples + self.time.lost))
        while len(rates) > 2 and rates[-1][0] - rates[1][0] >= RATE_OVER_S:
            rates.popleft()
        passed_s = rates[-1][0] - rates[0][0]
        return (rates[-1][1] - rates[0][1]) / passed_s if passed_s > 0 else self.time.rate_hz


def lows_and_highs(z_mm: FloatArray, most: int = MOST_BINS) -> tuple[FloatArray, FloatArray]:
    """Least and greatest of up to `most` equal runs of readings, NaN where a run has none.

    z_mm: float[n], n > 0. Every reading is in just one run, so no spike is passed over.
    """
    starts = np.unique(np.arange(most) * z_mm.size // most)
    return np.fmin.reduceat(z_mm, starts), np.fmax.reduceat(z_mm, starts)


def numbers(values: FloatArray) -> list[float | None]:
    """As JSON has them: to a hundredth of a micrometre, null where there is none."""
    return [None if value != value else round(value, 5) for value in values.tolist()]


def document(seen: Seen) -> dict[str, Any]:
    """As JSON has it."""
    return {name: getattr(seen, name) for name in Seen.__slots__}
