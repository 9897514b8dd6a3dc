"""Is the rig there and well, is the machine: one document for a monitor and for the page."""

from __future__ import annotations

import resource
import shutil
import time
from datetime import UTC, datetime
from pathlib import Path

from pydantic import BaseModel

from daq.acquire.passes.lanes import both_ways, straight_lane
from daq.acquire.passes.space import bytes_needed
from daq.daemon.keeper import Keeper
from daq.errors import NeckformError
from daq.files.rig import RigFile
from daq.reading.age import age_days
from daq.reading.health import OLD
from daq.workshop.calibrations import CalibrationStore
from daq.workshop.place import Workshop

LANES = 11
"""Of an unstrung neck of six strings: what a scan is taken to need on the disk."""


class CalibrationAge(BaseModel):
    """state: ok, old, missing or damaged."""

    kind: str
    made: datetime | None
    age_days: int | None
    state: str


class LastFault(BaseModel):
    """What last went wrong with the rig, and when."""

    at: datetime
    why: str


class Health(BaseModel):
    """fit: the rig is there, and a scan fits on the disk; else the answer's code is 503.
    stream_faults: what is wrong with what it sends just now, a line each.

    rate_hz: over the last second by the rig's clock. samples, gaps, lost, bad_frames: since the
    rig was last connected. connections: how often that was. queue_bytes: received and not yet
    looked at. disk_needed_bytes: for a scan of an unstrung neck of six strings.
    """

    fit: bool
    faults: list[str]
    stream_faults: list[str]
    rig: str
    state: str
    links: dict[str, str]
    asked_rate_hz: float
    rate_hz: float | None
    samples: int
    gaps: int
    lost: int
    bad_frames: int
    queue_bytes: int
    connections: int
    clients: int
    last_fault: LastFault | None
    disk_free_bytes: int | None
    disk_needed_bytes: int
    calibrations: list[CalibrationAge]
    up_s: float
    memory_bytes: int
    processor_s: float


class Doctor:
    """Asks everything that health is made of."""

    def __init__(self, keeper: Keeper, workshop: Workshop) -> None:
        self._keeper = keeper
        self._workshop = workshop
        self._began_s = time.monotonic()

    def look(self, clients: int) -> Health:
        """Now."""
        keeper, rig_file = self._keeper, self._keeper.rig_file
        state, live, last = keeper.state, keeper.watching.live, keeper.last_fault
        seen = live.seen
        free, needed = _free_bytes(self._workshop.root), scan_bytes(rig_file)
        faults = [state.why or "the rig is being looked for"] if not state.hellos else []
        if free is not None and free < needed:
            faults.append(f"{free / 1e6:.0f} MB are free and a scan needs {needed / 1e6:.0f} MB")
        return Health(
            fit=not faults,
            faults=faults,
            stream_faults=keeper.watching.faults,
            rig=rig_file.name,
            state=state.word,
            links={
                link: _link_state(state.hellos, at) for at, link in enumerate(rig_file.link_names)
            },
            asked_rate_hz=rig_file.sensor.rate_hz,
            rate_hz=None if seen is None or not state.hellos else seen.rate_hz,
            samples=0 if seen is None else seen.samples,
            gaps=0 if seen is None else seen.gaps,
            lost=0 if seen is None else seen.lost,
            bad_frames=live.bad,
            queue_bytes=keeper.waiting_bytes,
            connections=keeper.connections,
            clients=clients,
            last_fault=None if last is None else LastFault(at=last[0], why=last[1]),
            disk_free_bytes=free,
            disk_needed_bytes=needed,
            calibrations=ages(self._workshop.calibrations(rig_file.name), datetime.now(UTC)),
            up_s=round(time.monotonic() - self._began_s, 1),
            memory_bytes=_memory_bytes(),
            processor_s=round(time.process_time(), 2),
        )


def scan_bytes(rig_file: RigFile) -> int:
    """What a scan of an unstrung neck of six strings takes."""
    lanes = [straight_lane(rig_file)] * LANES
    return bytes_needed(rig_file, both_ways(lanes, rig_file.carriage.speed_mm_s))


def ages(store: CalibrationStore, now: datetime) -> list[CalibrationAge]:
    """Of the newest calibration of each kind."""
    return [_age(store, kind, now) for kind in OLD]


def _age(store: CalibrationStore, kind: str, now: datetime) -> CalibrationAge:
    try:
        latest = store.latest(kind)
    except NeckformError:
        return CalibrationAge(kind=kind, made=None, age_days=None, state="damaged")
    if latest is None:
        return CalibrationAge(kind=kind, made=None, age_days=None, state="missing")
    made = datetime.fromisoformat(str(latest[1]["made"]))
    days = age_days(made, now)
    state = "old" if days > OLD[kind] else "ok"
    return CalibrationAge(kind=kind, made=made, age_days=days, state=state)


def _link_state(hellos: tuple[object, ...], at: int) -> str:
    return str(getattr(hellos[at], "device_id", "")) if at < len(hellos) else "not there"


def _free_bytes(root: Path) -> int | None:
    """On the disk where the workshop is, or will be."""
    for folder in (root, *root.absolute().parents):
        if folder.is_dir():
            return shutil.disk_usage(folder).free
    return None


def _memory_bytes() -> int:
    """What this process has in memory now, or had at most where the system does not say."""
    try:
        pages = int(Path("/proc/self/statm").read_text("ascii").split()[1])
    except (OSError, ValueError):
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
    return pages * resource.getpagesize()
