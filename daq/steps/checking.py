"""The check of a rig: a look at it standing still, its pads, and its calibrations."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from daq.acquire.health.check import RigHealth
from daq.acquire.health.wiring import wiring_faults
from daq.acquire.use import RigUse
from daq.reading.baseline import calibrated, on_pads
from daq.reading.health import Fitness, Today, judge
from daq.workshop.calibrations import CalibrationStore


@dataclass(frozen=True, slots=True)
class Checked:
    """What the still rig showed, and the verdict."""

    health: RigHealth
    fitness: Fitness


def check(use: RigUse, store: CalibrationStore, still_s: float, *, over_pads: bool) -> Checked:
    """Looks at the rig and compares it with its calibrations.

    over_pads: drives a motor rig along its travel as well, and judges its wiring and its pads.
    Raises RigError as `check_rig` and `drive_over_pads`.
    """
    rig = use.rig_file
    health = use.check(still_s)
    then = calibrated(store)
    seen, faults = None, health.faults
    if over_pads and rig.carriage.drive == "motor" and not faults:
        passes = use.over_pads()
        faults = wiring_faults(passes, rig)
        seen = None if faults else on_pads(passes, rig)
    today = Today(faults, health.noise_um, health.rate_hz, health.temperature_c, seen)
    return Checked(health, judge(rig, today, then, datetime.now(UTC)))
