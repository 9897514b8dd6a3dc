"""Finding out how far the carriage goes for a count: scans of a neck, a fit, a document."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from analysis.crowns.places import crown_strips
from analysis.faults import NeckError
from analysis.instrument import Instrument
from calibration.screw.fit import ScrewFit, fit_screw
from calibration.screw.fretlines import Strip
from calibration.screw.screw import ScrewError
from daq.acquire.passes.lanes import LAG_SPEED_SHARES, LanePlan, PassPlan, both_ways, lanes_for
from daq.errors import InputError
from daq.files.rig import RigFile
from daq.reading.calibrated import calibrations_for
from daq.reading.neck import scan_profiles
from daq.reading.screw import screw_document
from daq.record.scan import Scan
from daq.steps.calibrating import calibration_scan
from daq.steps.recording import Operator, now
from daq.workshop.calibrations import CalibrationStore
from daq.workshop.place import Workshop

#: Lanes scanned: enough to see a crown worn askew, and no more time than that needs.
LANES = 3
#: A slope of the rail turns the tip's contact to one side of a crown's top.
NO_RAIL = (
    "The rail is not mapped: its slopes move crowns by a micrometre or so, which may pass for a "
    "periodic error. Run `neckform calibrate rail` first."
)
#: How far the neck is moved from where it lay first, by turns either way, mm: no whole turns of
#: a screw, and well within where the nut is looked for.
STEPS_MM = (0.0, 3.3, -4.7, 7.1, -8.9)


@dataclass(frozen=True, slots=True)
class ScrewCalibrated:
    """The screw, where it is kept and the scans it came from."""

    found: ScrewFit
    path: Path
    scan_paths: tuple[Path, ...]


@dataclass(frozen=True, slots=True)
class _Bench:
    rig: RigFile
    instrument: Instrument
    store: CalibrationStore
    operator: Operator


def calibrate_screw(
    workshop: Workshop,
    rig: RigFile,
    instrument: Instrument,
    placements: int,
    pitch_mm: float | None,
    operator: Operator,
) -> ScrewCalibrated:
    """Scans a neck between its strings' places, in so many placements, and keeps the screw.

    placements: 1 to len(STEPS_MM). pitch_mm: the screw's, None to search for it. Raises
    InputError, and keeps nothing, where the scan shows no such neck, its frets contradict the
    scale length, or the neck was not moved.
    """
    bench = _Bench(rig, instrument, workshop.calibrations(rig.name), operator)
    scans: list[Scan] = []
    strips: list[Strip] = []
    for number, step_mm in enumerate(STEPS_MM[:placements], start=1):
        _ask(bench, number, placements, step_mm)
        scans.append(_scanned(bench, f"placement {number}"))
        strips += _strips(bench, scans[-1], number)
    try:
        found = fit_screw(strips, pitch_mm)
    except ScrewError as error:
        raise InputError(f"{scans[-1].path}: {error}; nothing was kept") from error
    if calibrations_for(scans[-1], bench.store).rail is None:
        found = replace(found, unseen=(*found.unseen, NO_RAIL))
    about = {
        "scans": [scan.path.name for scan in scans],
        "instrument": instrument.name,
        "scale_mm": [instrument.scale_bass_mm, instrument.scale_treble_mm],
        "placements": placements,
    }
    path = bench.store.save("screw", screw_document(found, rig.name, now(), about))
    return ScrewCalibrated(found, path, tuple(scan.path for scan in scans))


def _ask(bench: _Bench, number: int, placements: int, step_mm: float) -> None:
    if number == 1:
        return
    way = "away from" if step_mm > 0 else "towards"
    bench.operator.ask(
        f"Placement {number} of {placements}: move the neck along the rail, {way} the first pad, "
        f"to about {abs(step_mm):.1f} mm from where it lay first; a millimetre more or less does "
        "not matter, but it must stay in line with the rail"
    )


def _scanned(bench: _Bench, label: str) -> Scan:
    passes = _passes(bench.instrument, bench.rig)
    return calibration_scan("screw", bench.rig, bench.store, passes, bench.operator, label)


def _passes(instrument: Instrument, rig: RigFile) -> tuple[PassPlan, ...]:
    """Both ways along the outermost lanes between strings and the middle one."""
    lanes = lanes_for(instrument, rig, "strung")
    chosen: dict[int, LanePlan] = {}
    for lane in (lanes[0], lanes[len(lanes) // 2], lanes[-1])[:LANES]:
        chosen[lane.lane] = lane
    # as for the lag: at a tidy speed every count is rounded alike
    return both_ways(tuple(chosen.values()), LAG_SPEED_SHARES[0] * rig.carriage.speed_mm_s)


def _strips(bench: _Bench, scan: Scan, number: int) -> list[Strip]:
    """Crowns as the carriage counted them when the tip was over them: all but the screw undone."""
    known = calibrations_for(scan, bench.store, but_for="screw")
    profiles = scan_profiles(scan, bench.rig, known)
    try:
        ball_mm = bench.rig.sensor.tip_radius_mm or 0.0
        return crown_strips(profiles, bench.instrument, ball_mm, number)
    except NeckError as error:
        raise InputError(f"{scan.path}: {error}; nothing was kept") from error
