"""A job's scans read, each once, and those that repeat one another as one."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from daq.errors import InputError, NeckformError
from daq.reading.lanes import check_whole, what_is_missing
from daq.reading.neck import ReadScan, look_over, read_scan_neck, rig_of
from daq.reading.repeats import CombinedScan, ScanLeftOut, combined_scan
from daq.reading.runs import run_to, runs_of
from daq.record.scan import Scan, read_scan
from daq.workshop.calibrations import CalibrationStore
from daq.workshop.job import Job
from daq.workshop.place import Workshop


@dataclass(frozen=True, slots=True)
class JobReader:
    """Reads with the workshop's calibrations. What was read is kept as long as the reader is."""

    workshop: Workshop
    job: Job
    _read: dict[Path, ReadScan] = field(default_factory=dict)

    def state(self, path: Path, state: str, last: int | None = None) -> CombinedScan:
        """A scan of a state, combined with those before it that it repeats.

        One that lacks lanes stands alone. last: number of the last scan that counts. Raises
        InputError where it is not of that state, or cannot be read to this job's neck.
        """
        latest, instrument = self._alone(path, state), self.job.instrument().record
        if what_is_missing(latest.scan, instrument) is not None:
            return combined_scan([latest], instrument)
        reads, unread = [], []
        for scan in run_to(runs_of(self.job, last), path)[:-1]:
            try:
                reads.append(self._whole(scan.path, state))
            except NeckformError as error:
                unread.append(ScanLeftOut(scan.path, str(error).removeprefix(f"{scan.path}: ")))
        return combined_scan([*reads, latest], instrument, unread)

    def whole(self, path: Path, state: str, last: int | None = None) -> CombinedScan:
        """As `state`, and every lane is there. Raises InputError."""
        self._whole(path, state)
        return self.state(path, state, last)

    def _whole(self, path: Path, state: str) -> ReadScan:
        read = self._alone(path, state)
        check_whole(read.scan, self.job.instrument().record)
        return read

    def _alone(self, path: Path, state: str) -> ReadScan:
        if path not in self._read:
            scan = read_scan(path)
            if scan.purpose == "scan" and scan.state != state:
                raise InputError(
                    f"{path}: is named {state}, and says of itself that it is {scan.state}; give "
                    "it back its own name, or move it away"
                )
            instrument, store = self.job.instrument().record, _store(self.workshop, scan)
            try:
                self._read[path] = read_scan_neck(scan, instrument, store)
            except InputError as error:
                raise _with_file(error, self.job) from error
        return self._read[path]


def look_over_state(workshop: Workshop, job: Job, scan: Scan) -> tuple[str, ...]:
    """Whether a scan just made will do for its job, and what to know of it. Raises InputError."""
    try:
        return look_over(scan, job.instrument().record, _store(workshop, scan))
    except InputError as error:
        raise _with_file(error, job) from error


def _with_file(error: InputError, job: Job) -> InputError:
    """Where the instrument's file is at fault: which one it is, for a job has its own."""
    keys = ("scale_mm", "scale_mm.bass", "scale_mm.treble", "frets", "nut_at_mm")
    about_file = any(f": {key}: the file says" in str(error) for key in keys)
    return InputError(f"{error} in {job.instrument_path}") if about_file else error


def _store(workshop: Workshop, scan: Scan) -> CalibrationStore:
    return workshop.calibrations(rig_of(scan).name)
