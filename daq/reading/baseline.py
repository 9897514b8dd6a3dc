"""What a rig was like when it was calibrated, read from the scans behind its calibrations."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np

from calibration.drift.pads import PadStep, pad_noise, pad_step, visit_pads
from calibration.passes import RawPass
from daq.errors import NeckformError
from daq.files.rig import RigFile
from daq.reading.celsius import scan_celsius
from daq.reading.neck import rig_of
from daq.record.profiles import raw_passes
from daq.record.scan import Scan, read_scan
from daq.workshop.calibrations import KINDS, CalibrationStore


@dataclass(frozen=True, slots=True)
class OnPads:
    """What passes over the pads show: noise of one reading, samples a second, the pads' step.

    None where it could not be seen.
    """

    noise_um: float | None
    rate_hz: float | None
    step: PadStep | None


@dataclass(frozen=True, slots=True)
class Calibrated:
    """The newest calibration of a kind.

    made: None where it is damaged; fault says how. scan: the one behind it, None where it has
    none or it is gone. rig: the rig file of then.
    """

    kind: str
    made: datetime | None
    temperature_c: float | None
    rig: RigFile | None
    on_pads: OnPads | None
    fault: str = ""


def calibrated(store: CalibrationStore) -> list[Calibrated]:
    """The newest of every kind there is, in the order of KINDS."""
    return list(_each(store))


def _each(store: CalibrationStore) -> Iterator[Calibrated]:
    for kind in KINDS:
        try:
            latest = store.latest(kind)
        except NeckformError as error:
            yield Calibrated(kind, None, None, None, None, str(error))
            continue
        if latest is not None:
            yield _read(kind, latest[1], store.folder / "scans")


def _read(kind: str, document: Mapping[str, Any], scans: Path) -> Calibrated:
    made = datetime.fromisoformat(str(document["made"]))
    told = document.get("celsius")
    celsius = float(told) if isinstance(told, int | float) else None
    name = document.get("scan")
    try:
        scan = read_scan(scans / str(name)) if name else None
        rig = rig_of(scan) if scan else None
    except NeckformError:
        scan = rig = None  # the calibration is good without: only nothing can be compared
    if scan is None or rig is None:
        return Calibrated(kind, made, celsius, None, None)
    warm = scan_celsius(scan) if celsius is None else celsius
    return Calibrated(kind, made, warm, rig, _scan_on_pads(scan, rig))


def _scan_on_pads(scan: Scan, rig: RigFile) -> OnPads:
    carriage = rig.carriage
    passes = raw_passes(
        scan, carriage.mm_per_count, rig.cross_mm_per_count, rig.sensor.mm_per_count
    )
    return on_pads(passes, rig)


def on_pads(passes: list[RawPass], rig: RigFile) -> OnPads:
    """What these passes show on the pads."""
    pads, quantum = rig.pad_records, abs(rig.sensor.mm_per_count)
    if not passes:
        return OnPads(None, None, None)
    noise = pad_noise(passes, pads, quantum)
    rate = 1.0 / float(np.median(np.concatenate([np.diff(one.t_s) for one in passes])))
    step = pad_step(visit_pads(passes, pads))
    return OnPads(None if noise is None else 1e3 * noise, rate, step)
