"""A work, done on an open rig."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import assert_never

from daq.acquire.health.check import check_rig
from daq.acquire.health.pads import drive_over_pads
from daq.acquire.passes.progress import ProgressSink
from daq.acquire.passes.record import record_scan
from daq.acquire.rig.rig import Rig
from daq.acquire.rig.still import look
from daq.daemon.inside import inside
from daq.daemon.results import Result
from daq.daemon.work import CheckWork, LookWork, PadsWork, RecordWork, Work
from daq.errors import FileError, InputError
from daq.files.rig import RigFile

Ask = Callable[[str], None]


def do(
    work: Work, rig: Rig, rig_file: RigFile, root: Path, progress: ProgressSink, ask: Ask
) -> Result:
    """What it comes to. Raises as the operation does, and KeyboardInterrupt where it is stopped."""
    match work:
        case RecordWork():
            return _record(work, rig, rig_file, root, progress, ask)
        case CheckWork():
            return check_rig(rig, rig_file, work.still_s)
        case PadsWork():
            if rig_file.carriage.drive != "motor":
                raise InputError(
                    f"{rig_file.name}: its carriage has no motor to drive it over pads"
                )
            return drive_over_pads(rig, rig_file)
        case LookWork():
            return look(rig, rig_file.sensor.rate_hz, work.device_s)
        case _:
            assert_never(work)


def _record(
    work: RecordWork, rig: Rig, rig_file: RigFile, root: Path, progress: ProgressSink, ask: Ask
) -> Path:
    path = inside(root, work.path)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileError(f"{path.parent}: cannot be made ({error.strerror})") from error
    return record_scan(rig, rig_file, work.begin, work.passes, path, progress, ask)
