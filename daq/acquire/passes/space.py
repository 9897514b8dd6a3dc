"""Whether a scan fits on the disk: asked before, and watched while it grows."""

from __future__ import annotations

import math
import shutil
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from daq.acquire.links.controller import Heard
from daq.acquire.passes.lanes import PassPlan
from daq.errors import FileError
from daq.files.rig import RigFile

BYTES_A_SAMPLE = 60
SPARE = 2.5
"""The journal and the scan file stand side by side for a moment, and passes are repeated."""


RESERVE_BYTES = 2_000_000
"""Left for the scan file's head, and for other programs to go on."""
LOOK_EACH_S = 1.0


def bytes_needed(rig_file: RigFile, passes: Sequence[PassPlan]) -> int:
    """What these passes will take, with room for repeats."""
    seconds = sum(abs(plan.to_mm[0] - plan.from_mm[0]) / plan.speed_mm_s for plan in passes)
    samples = seconds * rig_file.sensor.rate_hz * len(rig_file.link_names)
    return round(samples * BYTES_A_SAMPLE * SPARE) + RESERVE_BYTES


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


class DiskWatch:
    """Looks once a second, while a scan is recorded, whether the rest of it still fits.

    The rest: what the journal is still to grow by, the scan file made of it, and a reserve. So
    what was recorded can always be sealed. now_s: monotonic seconds.
    """

    def __init__(
        self,
        journal_path: Path,
        rig_file: RigFile,
        passes: Sequence[PassPlan],
        now_s: Callable[[], float] = time.monotonic,
    ) -> None:
        self._path = journal_path
        self._planned = (bytes_needed(rig_file, passes) - RESERVE_BYTES) / SPARE
        self._now_s = now_s
        self._looked_s = now_s()

    def heard(self, heard: Heard) -> None:
        """Raises FileError where others have filled the disk meanwhile; once, for the rig must
        still be halted."""
        now_s = self._now_s()
        if now_s - self._looked_s < LOOK_EACH_S:
            return
        self._looked_s = now_s
        written = self._path.stat().st_size
        rest = max(self._planned - written, 0) + max(self._planned, written) + RESERVE_BYTES
        free = shutil.disk_usage(self._path.parent).free
        if free < rest:
            self._looked_s = math.inf
            raise FileError(
                f"{self._path.parent}: the disk is filling up: {free / 1e6:.1f} MB are free, and "
                f"the rest of the scan needs {rest / 1e6:.1f} MB; it was ended before the disk is "
                "full; free some space and scan again"
            )
