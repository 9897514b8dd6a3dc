"""A rig and what can be done with it, whoever holds its ports."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import Protocol

from calibration.passes import RawPass
from daq.acquire.health.check import RigHealth, check_rig
from daq.acquire.health.pads import drive_over_pads
from daq.acquire.links.clock import Clock
from daq.acquire.passes.hand import Ask
from daq.acquire.passes.lanes import PassPlan
from daq.acquire.passes.progress import ProgressSink
from daq.acquire.passes.record import check_room, record_scan
from daq.acquire.rig.rig import Rig
from daq.acquire.rig.session import OpenLink, rig_session
from daq.acquire.rig.still import look
from daq.files.rig import RigFile
from daq.link.serial_port import SerialLink
from daq.record.notes import ScanBegin
from daq.wire.records import SampleBlock

Look = Callable[[float], SampleBlock]
"""So many seconds by the rig's clock to what the sensor's link then brought."""


class RigUse(Protocol):
    """Every method raises RigError where the rig fails or somebody else has it."""

    @property
    def rig_file(self) -> RigFile: ...

    def record(
        self,
        begin: ScanBegin,
        passes: Sequence[PassPlan],
        out_path: Path,
        progress: ProgressSink,
        ask: Ask,
    ) -> Path:
        """As `record_scan`."""

    def check(self, still_s: float) -> RigHealth:
        """As `check_rig`."""

    def over_pads(self) -> list[RawPass]:
        """As `drive_over_pads`."""

    def looking(self) -> AbstractContextManager[Look]:
        """Looks at what the sensor reads with the carriage still, one after the other."""


class OwnRig:
    """A rig whose ports this program opens itself, for as long as each use takes."""

    def __init__(
        self, rig_file: RigFile, open_link: OpenLink = SerialLink, *, clock: Clock | None = None
    ) -> None:
        self.rig_file = rig_file
        self._open_link = open_link
        self._clock = clock

    def record(
        self,
        begin: ScanBegin,
        passes: Sequence[PassPlan],
        out_path: Path,
        progress: ProgressSink,
        ask: Ask,
    ) -> Path:
        """As `record_scan`."""
        check_room(self.rig_file, passes, out_path)  # before the rig is waited for
        with self._open() as rig:
            return record_scan(rig, self.rig_file, begin, passes, out_path, progress, ask)

    def check(self, still_s: float) -> RigHealth:
        """As `check_rig`."""
        with self._open() as rig:
            return check_rig(rig, self.rig_file, still_s)

    def over_pads(self) -> list[RawPass]:
        """As `drive_over_pads`."""
        with self._open() as rig:
            return drive_over_pads(rig, self.rig_file)

    @contextmanager
    def looking(self) -> Iterator[Look]:
        """The rig is open until the block ends: opening a port resets many a board."""
        with self._open() as rig:
            yield lambda device_s: look(rig, self.rig_file.sensor.rate_hz, device_s)

    def _open(self) -> AbstractContextManager[Rig]:
        return rig_session(self.rig_file, self._open_link, clock=self._clock)
