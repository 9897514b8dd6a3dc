"""What one pass has brought so far."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from daq.acquire.links.controller import Heard, who_is_on
from daq.acquire.links.device_time import DeviceTime
from daq.acquire.links.seen import Seen
from daq.acquire.passes.gate import Verdict, judge
from daq.acquire.passes.lanes import PassPlan
from daq.acquire.passes.progress import ProgressSink
from daq.files.rig import RigFile
from daq.record.merge import Arrived
from daq.wire.records import Event, SampleBlock


class LinkLog:
    """Collects what comes over one link."""

    def __init__(self, who: str, *, drives: bool) -> None:
        self.time = DeviceTime()
        self.bad_frames = 0
        self._who = who
        self._drives = drives
        self._blocks: list[SampleBlock] = []
        self._arrivals: list[NDArray[np.int64]] = [np.empty(0, np.int64)]
        self._events: list[Event] = []

    def add(self, heard: Heard) -> None:
        """The next piece."""
        batch = heard.batch
        self._blocks.append(batch.samples)
        self._arrivals.append(heard.arrival_ns)
        self._events.extend(batch.events)
        self.bad_frames += batch.bad_frames
        self.time.add(batch.samples)

    @property
    def seen(self) -> Seen:
        """All of it."""
        samples = SampleBlock.concatenate(self._blocks)
        arrived = Arrived(samples, np.concatenate(self._arrivals))
        return Seen(self._who, self._drives, arrived, tuple(self._events), self.bad_frames)


def link_logs(rig_file: RigFile) -> tuple[LinkLog, ...]:
    """An empty one for every link in use, the sensor's first."""
    last = len(rig_file.link_names) - 1
    return tuple(LinkLog(who_is_on(rig_file, at), drives=at == last) for at in range(last + 1))


class PassLog:
    """Collects a pass's samples and events and shows them to the progress."""

    def __init__(self, rig_file: RigFile, progress: ProgressSink) -> None:
        self._rig_file = rig_file
        self._progress = progress
        self._links = link_logs(rig_file)
        self._x_mm: float | None = None

    def add(self, heard: Heard) -> None:
        """The next piece."""
        self._links[heard.link].add(heard)
        samples = heard.batch.samples
        if heard.drives and len(samples):
            self._x_mm = int(samples.x[-1]) * self._rig_file.carriage.mm_per_count
        if heard.reads and len(samples) and self._x_mm is not None:
            time = self._links[0].time
            bad = sum(link.bad_frames for link in self._links)
            lost = sum(link.time.lost for link in self._links)
            self._progress.samples(time.samples, bad, lost, self._x_mm, time.rate_hz)

    def verdict(self, plan: PassPlan) -> Verdict:
        """The gate's word on all of it."""
        return judge([link.seen for link in self._links], plan, self._rig_file)
