"""Finding out how straight the rail is: scans, a fit, a document kept in the workshop."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from calibration.rail.across import across_only
from calibration.rail.combine import combine_rail
from calibration.rail.map import RailError
from calibration.rail.surface import RailSurface
from daq.errors import InputError
from daq.files.rig import RigFile
from daq.reading.celsius import mean_celsius
from daq.reading.rail import RailResult, made_words, rail_document
from daq.reading.rail_kept import KeptEstimate
from daq.steps.rail_bench import Measure, Measured, RailBench
from daq.steps.rail_join import Before, before_of, newest_document, not_replaced
from daq.steps.recording import Operator, now
from daq.workshop.place import Workshop


@dataclass(frozen=True, slots=True)
class RailCalibrated:
    """What was found, where it is kept and the scans it came from.

    alone: how the map was made that is no longer in use and was not joined; None without one.
    """

    result: RailResult
    about: dict[str, object]
    path: Path
    scan_paths: tuple[Path, ...]
    alone: str | None


def calibrate_rail(
    workshop: Workshop,
    rig: RigFile,
    measure: Measure,
    operator: Operator,
    *,
    join: bool = False,
    celsius: float | None = None,
) -> RailCalibrated:
    """Measures the rail one way and keeps its error map, joined to the one kept before or not.

    celsius: how warm it is, where a person says so; else the rig's own reading, if it has one.
    Nothing is kept where the scans do not show the rail, or a join shows two rails (InputError);
    the scans themselves stay.
    """
    store = workshop.calibrations(rig.name)
    before = newest_document(store)
    if join and before is None:
        raise InputError(
            f"--join: found no rail map of {rig.name} to join this one to; leave --join out"
        )
    joined = before_of(before) if join and before else None
    known = joined.across if joined else None
    bench = RailBench(rig, store, operator, None if known is None else across_only(known))
    measured = measure(bench)
    made = now()
    result = _result(_kept(measured, made, celsius), measured.across, joined)
    about = {
        **measured.about,
        "scan": measured.scans[0].path.name,
        "lag_known": bench.calibrations(measured.scans[0]).lag is not None,
    }
    path = store.save("rail", rail_document(result, rig.name, made, about))
    alone = made_words(before.document) if before and not join else None
    return RailCalibrated(result, about, path, tuple(scan.path for scan in measured.scans), alone)


def _kept(measured: Measured, made: str, celsius: float | None) -> KeptEstimate:
    warm = mean_celsius(measured.scans) if celsius is None else celsius
    names = tuple(scan.path.name for scan in measured.scans)
    return KeptEstimate(measured.estimate, made, warm, names)


def _result(new: KeptEstimate, across: RailSurface | None, joined: Before | None) -> RailResult:
    """The new estimate alone, or with what it does not replace. Raises InputError."""
    if joined is None:
        return RailResult(new.estimate, (new,), (), across)
    older = not_replaced(joined, new.estimate.method)
    across = joined.across if across is None else across
    if not older:
        return RailResult(new.estimate, (new,), (), across)
    try:
        together = combine_rail([*(one.estimate for one in older), new.estimate])
        together.require_agreement()
    except RailError as error:
        raise InputError(
            f"--join: {error}; no map was kept, and {joined.path} stays in use"
        ) from error
    return RailResult(together.estimate, (*older, new), together.agreement, across)
