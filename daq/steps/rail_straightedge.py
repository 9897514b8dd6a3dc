"""The rail by a straightedge: as it lies, laid at several y, or scanned again reversed."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from calibration.rail.across import line_estimate
from calibration.rail.reversal import Way, fit_reversal
from calibration.rail.straightedge import estimate_rail
from calibration.rail.surface import fit_surface
from daq.steps.rail_bench import Measure, Measured, RailBench, shown_by

#: A good toolmaker's straightedge, used over its middle (common practice, no source).
STRAIGHTEDGE_UM = 0.3
#: Rows from which a curve across is fitted as well as roll.
CURVED_ROWS = 4
TURN = {
    "over": "Turn the straightedge over about its long axis, and set the sensor to read the same "
    "face from its other side",
    "ends": "Turn the straightedge end for end in its place, the same face up",
}


def by_straightedge(straightedge_um: float, rows_mm: Sequence[float] = ()) -> Measure:
    """straightedge_um: its own standard uncertainty. rows_mm: y it is laid at, one after another;
    none leaves it where it lies, at y = 0."""
    if rows_mm:
        return partial(_in_rows, straightedge_um=straightedge_um, rows_mm=tuple(rows_mm))
    return partial(_as_it_lies, straightedge_um=straightedge_um)


def by_reversal(straightedge_um: float, way: Way) -> Measure:
    """The same straightedge twice, the second time turned."""
    return partial(_reversed, straightedge_um=straightedge_um, way=way)


def _about(straightedge_um: float, reference: str = "straightedge") -> dict[str, object]:
    return {"reference": reference, "u_straightedge_um": straightedge_um}


def _as_it_lies(bench: RailBench, straightedge_um: float) -> Measured:
    scan = bench.scan("straightedge")
    with shown_by([scan]):
        found = estimate_rail(bench.even(scan), bench.rig.pad_records, straightedge_um)
    return Measured(found, (scan,), _about(straightedge_um))


def _in_rows(bench: RailBench, straightedge_um: float, rows_mm: Sequence[float]) -> Measured:
    scans = []
    for number, y_mm in enumerate(rows_mm, start=1):
        by_hand = "" if bench.rig.has_cross else f"Set the cross slide to y = {y_mm:+g} mm. "
        bench.operator.ask(
            f"{by_hand}Row {number} of {len(rows_mm)}: lay the straightedge along the rail at "
            f"y = {y_mm:+g} mm, at the same place along it as in every row"
        )
        scans.append(bench.scan(f"straightedge at y = {y_mm:g} mm", y_mm))
        with shown_by(scans[-1:]):
            # told now, not after the last row
            estimate_rail(bench.even(scans[-1]), bench.rig.pad_records, straightedge_um)
    with shown_by(scans):
        rows = [(y_mm, bench.even(scan)) for y_mm, scan in zip(rows_mm, scans, strict=True)]
        curved = len(rows) >= CURVED_ROWS
        surface = fit_surface(rows, bench.rig.pad_records, straightedge_um, curved)
    found = line_estimate(surface, straightedge_um)
    return Measured(found, tuple(scans), _about(straightedge_um), surface)


def _reversed(bench: RailBench, straightedge_um: float, way: Way) -> Measured:
    first = bench.scan("straightedge as it lies")
    with shown_by([first]):
        # told now, not after the straightedge was turned
        estimate_rail(bench.even(first), bench.rig.pad_records, straightedge_um)
    bench.operator.ask(TURN[way])
    second = bench.scan(f"straightedge turned ({way})")
    with shown_by([first, second]):
        found = fit_reversal(
            bench.even(first), bench.even(second), bench.rig.pad_records, way, straightedge_um
        )
    about = {**_about(straightedge_um, "reversed"), "log_ratio": round(found.check.log_ratio, 2)}
    return Measured(found.rail, (first, second), about)
