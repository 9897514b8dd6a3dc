"""Scanning a neck into its job."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import cast

from daq.acquire.passes.lanes import PassPlan, State, both_ways, lanes_for
from daq.errors import InputError
from daq.files.instrument import InstrumentFile
from daq.files.rig import RigFile
from daq.reading.reader import look_over_state
from daq.reading.settings import RodSetting
from daq.record.scan import Scan
from daq.steps.recording import Operator, first_note, recorded
from daq.workshop.job import STATES, Job
from daq.workshop.place import Workshop


@dataclass(frozen=True, slots=True)
class ScanMade:
    """The scan file of a job, read back.

    caution: why it will not do for the job, or what to know of it before the neck leaves the
    rig; None where all is well as far as it can tell alone.
    """

    path: Path
    scan: Scan
    caution: str | None


@dataclass(frozen=True, slots=True)
class Asked:
    """What to scan. label: a few words for the file's name. rod: how the truss rod stands."""

    state: str
    label: str
    rod: RodSetting


def scan_neck(
    workshop: Workshop, job: Job, rig: RigFile, asked: Asked, operator: Operator
) -> ScanMade:
    """Scans every lane of a state, both ways, and adds the scan to the job.

    Raises InputError where the neck does not lie between the rig's pads, and what the rig or
    the disk gives reason for.
    """
    path = job.next_scan_path(asked.state, asked.label)
    instrument = job.instrument()
    passes = scan_passes(rig, instrument, asked.state)
    store = workshop.calibrations(rig.name)
    begin = first_note(
        "scan",
        rig,
        store,
        state=asked.state,
        label=asked.label,
        job=job.name,
        instrument_text=instrument.text,
        rod_turns=asked.rod.turns,
    )
    scan = recorded(begin, passes, path, operator)
    return ScanMade(path, scan, _caution(workshop, job, scan))


def _caution(workshop: Workshop, job: Job, scan: Scan) -> str | None:
    """What stands on the rig, seen while it can still be put right. The scan is kept anyhow."""
    try:
        remarks = look_over_state(workshop, job, scan)
    except InputError as error:
        return str(error)
    return f"{scan.path}: {'; '.join(remarks)}; scan again if you can" if remarks else None


def scan_passes(rig: RigFile, instrument: InstrumentFile, state: str) -> tuple[PassPlan, ...]:
    """Every lane of a state, both ways. Raises InputError as `check_reach`."""
    check_reach(rig, instrument)
    lanes = lanes_for(instrument.record, rig, cast(State, state))
    return both_ways(lanes, rig.carriage.speed_mm_s)


def check_reach(rig: RigFile, instrument: InstrumentFile) -> None:
    """The frets lie between the pads, or no pass can see them all. Raises InputError."""
    record = instrument.record
    middle = 0.5 * (len(record.strings) + 1)
    first = record.nut_at_mm + float(record.fret_x_mm(1, middle))
    last = record.nut_at_mm + float(record.fret_x_mm(record.frets, middle))
    low, high = rig.pads[0].to_mm, rig.pads[-1].from_mm
    if first < low or last > high:
        raise InputError(
            f"{record.name}: frets 1 to {record.frets} would stand at {first:.0f} to {last:.0f} mm "
            f"on the rig, by nut_at_mm {record.nut_at_mm:g} and the scale; the pads of {rig.name} "
            f"leave {low:g} to {high:g} mm: move the neck and correct nut_at_mm"
        )


def checked_state(state: str) -> str:
    """Strung or unstrung. Raises InputError."""
    if state not in STATES:
        raise InputError(f"--state: found {state!r}; allowed {' or '.join(STATES)}")
    return state
