"""What is said of the rail map a result was made with; whether it is this rig's at all."""

from __future__ import annotations

from datetime import datetime

from daq.errors import InputError
from daq.files.rig import RigFile
from daq.reading.age import age_days, age_words, is_old
from daq.reading.celsius import APART_CELSIUS, scan_celsius
from daq.reading.found import Found
from daq.reading.rail import celsius_of, line_of, method_of
from daq.record.scan import Scan

#: A map's cells may lie this far beyond the travel: lag and backlash move them.
BEYOND_MM = 2.0


def require_fit(found: Found, rig: RigFile) -> None:
    """Raises InputError for a map of another rig, or of a rail longer than this one's travel."""
    name = found.document.get("rig")
    if name != rig.name:
        raise InputError(
            f"{found.where}: found a rail map of {name!r}; allowed one of {rig.name!r}; put it "
            "back where it belongs, and calibrate this rig's rail"
        )
    x_mm = line_of(found.document).x_mm
    low, high = rig.carriage.travel_mm
    if x_mm[0] < low - BEYOND_MM or x_mm[-1] > high + BEYOND_MM:
        raise InputError(
            f"{found.where}: found a rail map from {x_mm[0]:.0f} to {x_mm[-1]:.0f} mm; allowed "
            f"within the travel_mm of {rig.name}, {low:g} to {high:g} mm; is it of another rig? "
            "map this one's rail again"
        )


def rail_words(found: Found, scan: Scan) -> str:
    """By what, when, at what temperature; and a warning where it has grown old."""
    then = datetime.fromisoformat(scan.started).astimezone()
    days = age_days(found.made, then)
    celsius = celsius_of(found.document)
    warm = "" if celsius is None else f", at {celsius:.1f} °C"
    line = (
        f"rail: {method_of(found.document)}, calibrated {found.made:%Y-%m-%d}, "
        f"{age_words(days)}{warm}"
    )
    return "; ".join([line, *_warnings(days, celsius, scan_celsius(scan))])


def _warnings(days: int, celsius: float | None, scan_at: float | None) -> list[str]:
    warnings = []
    if is_old(days):
        warnings.append("that is long: map the rail again")
    if celsius is not None and scan_at is not None and abs(scan_at - celsius) > APART_CELSIUS:
        warnings.append(
            f"the scan was made at {scan_at:.1f} °C, and a rail bends with temperature: map it "
            "again at the scan's"
        )
    return warnings
