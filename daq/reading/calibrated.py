"""Which calibrations apply to a scan: the ones recorded with it, or newer ones of its rig."""

from __future__ import annotations

from dataclasses import dataclass

from calibration.lag import Lag
from calibration.rail import RailMap
from calibration.sensor import SensorCurve
from daq.reading.found import Found, built, newest
from daq.reading.lag import lag_of
from daq.reading.rail import rail_of
from daq.reading.sensor import sensor_of
from daq.record.scan import Scan
from daq.workshop.calibrations import CalibrationStore

#: The kinds a reading is corrected by.
APPLIED = ("rail", "lag", "sensor")


@dataclass(frozen=True, slots=True)
class Calibrations:
    """What is known of the rig's own errors; None where nothing is.

    described: one line for each, saying which was applied, for every result made with it.
    """

    rail: RailMap | None
    lag: Lag | None
    sensor: SensorCurve | None
    described: tuple[str, ...]


def calibrations_for(scan: Scan, store: CalibrationStore | None) -> Calibrations:
    """The newest of each kind: raw is kept, so an old scan gets better when a calibration does.

    store: the workshop's calibrations of this rig; None reads the scan file alone. Raises
    FileError for a damaged document.
    """
    chosen = {kind: newest(kind, scan, store) for kind in APPLIED}
    return Calibrations(
        built(rail_of, chosen["rail"]),
        built(lag_of, chosen["lag"]),
        built(sensor_of, chosen["sensor"]),
        tuple(_described(kind, found) for kind, found in chosen.items()),
    )


def stored_texts(store: CalibrationStore) -> dict[str, str]:
    """The newest text of each kind, to go into a scan file as it is."""
    found = {kind: store.latest(kind) for kind in APPLIED}
    return {kind: one[0] for kind, one in found.items() if one is not None}


def _described(kind: str, found: Found | None) -> str:
    without = {
        "rail": "rail: no error map; the carriage's own bow stands in every height",
        "lag": "lag: not calibrated; the passes both ways were laid over one another",
        "sensor": "sensor: by its nominal mm per count",
    }
    if found is None:
        return without[kind]
    return f"{kind}: calibrated {found.document['made']}"
