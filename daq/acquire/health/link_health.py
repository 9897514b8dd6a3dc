"""What a look at a still rig tells of its links: frames, rates, clocks."""

from __future__ import annotations

from dataclasses import dataclass

from calibration.clocks.fit import ClockError
from daq.acquire.links.controller import Hello
from daq.acquire.links.device_time import DeviceTime
from daq.acquire.passes.pass_log import LinkLog
from daq.files.rig import RigFile
from daq.files.rig_link import Link
from daq.record.merge import merge
from daq.wire.dialect import Dialect


@dataclass(frozen=True, slots=True)
class LinkHealth:
    """What one link of a rig shows.

    name, port: as in the rig file. hello: what its controller says of itself. rate_hz: by its own
    clock, or by arrivals where it has none. samples, gaps, lost, bad_frames: of this look; a gap
    is a run of lost samples.
    """

    name: str
    port: str
    hello: Hello
    rate_hz: float
    samples: int
    gaps: int
    lost: int
    bad_frames: int
    has_clock: bool = True


@dataclass(frozen=True, slots=True)
class ClockHealth:
    """How well the clocks of two links lie on one another after this look.

    u_s: standard uncertainty of a reading's time on the carriage's clock. travel_jitter_um: what
    it is worth along the rail at the rig's own speed. delay_ms: how late samples come, by link;
    it does no harm. A scan looks longer, and knows its clocks better.
    """

    u_s: float
    travel_jitter_um: float
    delay_ms: tuple[float, ...]


def link_health(name: str, link: Link, dialect: Dialect, hello: Hello, log: LinkLog) -> LinkHealth:
    """What came over one link."""
    whole = DeviceTime()
    whole.add(log.seen.samples)
    return LinkHealth(
        name=name,
        port=link.port,
        hello=hello,
        rate_hz=whole.rate_hz,
        samples=whole.samples,
        gaps=whole.gaps,
        lost=whole.lost,
        bad_frames=log.bad_frames,
        has_clock=dialect.has_clock,
    )


def clock_health(rig_file: RigFile, logs: tuple[LinkLog, ...]) -> tuple[ClockHealth | None, str]:
    """What is known of the clocks, and why nothing is."""
    try:
        clocks = merge(tuple(log.seen.arrived for log in logs)).clocks
    except ClockError as error:
        return None, str(error)
    if clocks is None:
        return None, ""
    late_s = (clocks.sensor[-1].delay_s, clocks.carriage[-1].delay_s)
    jitter_um = clocks.travel_jitter_um(rig_file.carriage.speed_mm_s)
    return ClockHealth(clocks.u_s, jitter_um, tuple(1e3 * late for late in late_s)), ""
