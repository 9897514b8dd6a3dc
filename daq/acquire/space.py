"""Whether a scan will fit on the disk: asked before, not found out in the middle."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from pathlib import Path

from daq.acquire.lanes import PassPlan
from daq.errors import FileError
from daq.files.rig import RigFile

BYTES_A_SAMPLE = 60
SPARE = 2.5
"""The journal and the scan file stand side by side for a moment, and passes are repeated."""


def bytes_needed(rig_file: RigFile, passes: Sequence[PassPlan]) -> int:
    """What these passes will take, with room for repeats."""
    seconds = sum(abs(plan.to_mm[0] - plan.from_mm[0]) / plan.speed_mm_s for plan in passes)
    samples = seconds * rig_file.sensor.rate_hz * len(rig_file.link_names)
    return round(samples * BYTES_A_SAMPLE * SPARE)


def check_space(rig_file: RigFile, passes: Sequence[PassPlan], folder: Path) -> None:
    """Raises FileError where the folder's disk has not enough room, or there is no folder."""
    needed = bytes_needed(rig_file, passes)
    try:
        free = shutil.disk_usage(folder).free
    except OSError as error:
        raise FileError(f"{folder}: cannot write a scan there: {error.strerror}") from error
    if free < needed:
        raise FileError(
            f"{folder}: {free / 1e6:.1f} MB are free and the scan needs {needed / 1e6:.1f} MB; "
            "free some space or choose another workshop folder"
        )
