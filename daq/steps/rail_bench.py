"""What every way of mapping the rail has in common: scans, and profiles without the rail."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from calibration.correct import correct
from calibration.profile import Profile
from calibration.rail.estimate import RailEstimate
from calibration.rail.map import Rail, RailError
from calibration.rail.surface import RailSurface
from daq.acquire.passes.lanes import PassPlan, rail_passes
from daq.errors import InputError
from daq.files.rig import RigFile
from daq.reading.calibrated import Calibrations, calibrations_for
from daq.reading.found import Document
from daq.reading.neck import scan_passes, scan_profiles
from daq.record.scan import Scan
from daq.steps.calibrating import calibration_scan
from daq.steps.recording import Operator
from daq.workshop.calibrations import CalibrationStore


@dataclass(frozen=True, slots=True)
class RailBench:
    """The rig with whatever is to show its rail, and the person beside it.

    known_across: the rail's roll from an earlier map, where this one is to be joined to it.
    """

    rig: RigFile
    store: CalibrationStore
    operator: Operator
    known_across: Rail | None = None

    def scan(self, label: str, y_mm: float = 0.0) -> Scan:
        """Both ways along the rail at one y, several times over."""
        return self.scan_along(label, rail_passes(self.rig, y_mm))

    def scan_along(self, label: str, passes: tuple[PassPlan, ...]) -> Scan:
        """Along other lanes."""
        return calibration_scan("rail", self.rig, self.store, passes, self.operator, label)

    def calibrations(self, scan: Scan) -> Calibrations:
        """All but the rail's."""
        return calibrations_for(scan, self.store, but_for="rail")

    def even(self, scan: Scan) -> list[Profile]:
        """Profiles of a surface too even for its own shape to tell the lag."""
        known = self.calibrations(scan)
        passes = scan_passes(scan, self.rig, known)
        quantum = abs(self.rig.sensor.mm_per_count)
        pads = self.rig.pad_records
        return correct(passes, pads, quantum, known.lag, self.known_across, known.screw)

    def shaped(self, scan: Scan) -> list[Profile]:
        """Profiles of an object with a shape: without a lag calibration its own shape tells."""
        return scan_profiles(scan, self.rig, self.calibrations(scan))


@dataclass(frozen=True, slots=True)
class Measured:
    """One method's result. about: what else its document is to say."""

    estimate: RailEstimate
    scans: tuple[Scan, ...]
    about: Document
    across: RailSurface | None = None


Measure = Callable[[RailBench], Measured]


@contextmanager
def shown_by(scans: Sequence[Scan]) -> Iterator[None]:
    """Names the scans that do not show the rail. Raises InputError for RailError."""
    try:
        yield
    except RailError as error:
        first, last = scans[0].path, scans[-1].path
        where = f"{first}" if first == last else f"{first} to {last.name}"
        raise InputError(f"{where}: {error}; no map was kept") from error
