"""A work, done on an open rig."""

from __future__ import annotations

from pathlib import Path
from typing import assert_never

from daq.daemon.inside import inside
from daq.daemon.results import Result, StepDone
from daq.daemon.stepping import check_step, lag_step, rail_step, scan_step
from daq.daemon.work import (
    CheckRigWork,
    CheckWork,
    LagWork,
    LookWork,
    PadsWork,
    RailWork,
    RecordWork,
    ScanWork,
    Step,
    Work,
)
from daq.errors import FileError
from daq.steps.recording import Operator
from daq.workshop.place import Workshop


def do(work: Work, workshop: Workshop, operator: Operator) -> Result:
    """What it comes to. Raises as the operation does, and KeyboardInterrupt or Stopped where it
    is stopped."""
    rig = operator.rig
    match work:
        case RecordWork():
            return _record(work, workshop.root, operator)
        case CheckWork():
            return rig.check(work.still_s)
        case PadsWork():
            return rig.over_pads()
        case LookWork():
            with rig.looking() as look:
                return look(work.device_s)
        case _:
            return _step(work, workshop, operator)


def _step(work: Step, workshop: Workshop, operator: Operator) -> StepDone:
    match work:
        case ScanWork():
            return scan_step(work, workshop, operator)
        case RailWork():
            return rail_step(work, workshop, operator)
        case LagWork():
            return lag_step(workshop, operator)
        case CheckRigWork():
            return check_step(work, workshop, operator)
        case _:
            assert_never(work)


def _record(work: RecordWork, root: Path, operator: Operator) -> Path:
    path = inside(root, work.path)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileError(f"{path.parent}: cannot be made ({error.strerror})") from error
    return operator.rig.record(work.begin, work.passes, path, operator.progress, operator.ask)
