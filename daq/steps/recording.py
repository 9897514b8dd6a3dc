"""What every recording has in common: who asks, who watches, what goes into its first note."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

from daq.errors import RigError
from daq.files.rig import RigFile
from daq.reading.calibrated import stored_texts
from daq.record.notes import ScanBegin
from daq.record.scan import Scan, read_scan
from daq.workshop.calibrations import CalibrationStore

# The rig's side of the program is imported by whoever has a rig.
if TYPE_CHECKING:
    from daq.acquire.passes.hand import Ask
    from daq.acquire.passes.lanes import PassPlan
    from daq.acquire.passes.progress import ProgressSink
    from daq.acquire.use import RigUse


class Stopped(RigError):
    """A recording was given up by whoever is at the rig; the message says what is kept of it."""


@dataclass(frozen=True, slots=True)
class Operator:
    """The rig, and the person at it: what shows them progress, what asks them to do something."""

    rig: RigUse
    progress: ProgressSink
    ask: Ask


def program() -> str:
    """Name and version, as they stand in every file."""
    return f"neckform {version('neckform')}"


def now() -> str:
    """ISO 8601 with offset, to the second."""
    return datetime.now(UTC).astimezone().isoformat(timespec="seconds")


def recorded(begin: ScanBegin, passes: Sequence[PassPlan], path: Path, operator: Operator) -> Scan:
    """Runs every pass into a new scan file, and reads it back.

    Raises Stopped where it is given up, by Ctrl-C say, besides what the rig and the disk give
    reason for; what was recorded is kept then, and the message says where.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        operator.rig.record(begin, passes, path, operator.progress, operator.ask)
    except KeyboardInterrupt:
        raise Stopped(_stopped(path.with_suffix(".journal"))) from None
    return read_scan(path)


def _stopped(journal: Path) -> str:
    if not journal.exists():
        return "stopped before anything was recorded"
    return (
        f"stopped; what was recorded is kept in {journal}, and "
        f"`neckform recover {journal.parent}` makes a scan of it"
    )


def first_note(
    purpose: str,
    rig: RigFile,
    store: CalibrationStore,
    *,
    state: str | None = None,
    label: str = "",
    job: str = "",
    instrument_text: str | None = None,
    rod_turns: float = 0.0,
) -> ScanBegin:
    """What a scan file says of itself, with the calibrations known when it was made."""
    return ScanBegin(
        id=secrets.token_hex(8),
        purpose=purpose,
        state=state,
        label=label,
        job=job,
        started=now(),
        program=program(),
        rig_text=rig.text,
        instrument_text=instrument_text,
        calibration_texts=stored_texts(store),
        rod_turns=rod_turns,
    )
