"""What one pass has brought so far."""

from __future__ import annotations

from daq.acquire.device_time import DeviceTime
from daq.acquire.gate import Verdict, judge
from daq.acquire.lanes import PassPlan
from daq.acquire.progress import ProgressSink
from daq.files.rig import RigFile
from daq.wire.records import Batch, Event, SampleBlock


class PassLog:
    """Collects a pass's batches and shows them to the progress."""

    def __init__(self, rig_file: RigFile, progress: ProgressSink) -> None:
        self._rig_file = rig_file
        self._progress = progress
        self._time = DeviceTime()
        self._blocks: list[SampleBlock] = []
        self._events: list[Event] = []
        self._bad_frames = 0

    def add(self, batch: Batch) -> None:
        """The next batch."""
        self._blocks.append(batch.samples)
        self._events.extend(batch.events)
        self._bad_frames += batch.bad_frames
        self._time.add(batch.samples)
        if len(batch.samples):
            x_mm = int(batch.samples.x[-1]) * self._rig_file.carriage.mm_per_count
            self._progress.samples(
                self._time.samples, self._bad_frames, self._time.lost, x_mm, self._time.rate_hz
            )

    def verdict(self, plan: PassPlan) -> Verdict:
        """The gate's word on all of it."""
        samples = SampleBlock.concatenate(self._blocks)
        return judge(samples, self._events, self._bad_frames, plan, self._rig_file)
