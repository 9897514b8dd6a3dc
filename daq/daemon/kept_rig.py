"""The rig a daemon has open, used through the same door as any other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from calibration.passes import RawPass
from daq.acquire.health.check import RigHealth, check_rig
from daq.acquire.health.pads import drive_over_pads
from daq.acquire.passes.hand import Ask
from daq.acquire.passes.lanes import PassPlan
from daq.acquire.passes.progress import ProgressSink
from daq.acquire.passes.record import record_scan
from daq.acquire.rig.rig import Rig
from daq.acquire.rig.still import look
from daq.acquire.use import Look
from daq.errors import InputError
from daq.files.rig import RigFile
from daq.record.notes import ScanBegin


class KeptRig:
    """A RigUse over an open rig, which stays open; in the thread that has it."""

    def __init__(self, rig: Rig, rig_file: RigFile) -> None:
        self.rig_file = rig_file
        self._rig = rig

    def record(
        self,
        begin: ScanBegin,
        passes: Sequence[PassPlan],
        out_path: Path,
        progress: ProgressSink,
        ask: Ask,
    ) -> Path:
        """As `record_scan`."""
        return record_scan(self._rig, self.rig_file, begin, passes, out_path, progress, ask)

    def check(self, still_s: float) -> RigHealth:
        """As `check_rig`."""
        return check_rig(self._rig, self.rig_file, still_s)

    def over_pads(self) -> list[RawPass]:
        """As `drive_over_pads`. Raises InputError where nothing drives the carriage."""
        if self.rig_file.carriage.drive != "motor":
            raise InputError(
                f"{self.rig_file.name}: its carriage has no motor to drive it over pads"
            )
        return drive_over_pads(self._rig, self.rig_file)

    @contextmanager
    def looking(self) -> Iterator[Look]:
        """Looks, one after the other."""
        yield lambda device_s: look(self._rig, self.rig_file.sensor.rate_hz, device_s)
