"""Which calibrations apply to a scan: the ones recorded with it, or newer ones of its rig."""

from __future__ import annotations

from dataclasses import dataclass

from calibration.lag.lag import Lag
from calibration.rail.map import Rail
from calibration.rail.sums import RailSums
from calibration.screw.screw import Screw
from calibration.sensor.curve import SensorCurve
from daq.files.rig import parse_rig
from daq.reading.found import Found, built, newest
from daq.reading.lag import lag_of
from daq.reading.probe import Probe, probe_of, probe_words
from daq.reading.rail import line_sums_of, rail_of
from daq.reading.rail_words import rail_words, require_fit
from daq.reading.screw import screw_of
from daq.reading.sensor import sensor_of, sensor_words
from daq.record.scan import Scan
from daq.workshop.calibrations import CalibrationStore

#: The kinds a reading is corrected by.
APPLIED = ("rail", "lag", "screw", "sensor", "probe")


@dataclass(frozen=True, slots=True)
class Calibrations:
    """What is known of the rig's own errors; None where nothing is.

    rail_sums: how the rail's cells err together. described: one line for each, saying which was
    applied, for every result made with it.
    """

    rail: Rail | None
    rail_sums: RailSums | None
    lag: Lag | None
    screw: Screw | None
    sensor: SensorCurve | None
    probe: Probe | None
    described: tuple[str, ...]


def calibrations_for(
    scan: Scan, store: CalibrationStore | None, *, but_for: str | None = None
) -> Calibrations:
    """The newest of each kind: raw is kept, so an old scan gets better when a calibration does.

    store: the workshop's calibrations of this rig; None reads the scan file alone. but_for: the
    kind that the scan itself is to tell, whatever is known of it. Raises FileError for a damaged
    document, InputError for a rail map that is not this rig's.
    """
    chosen = {kind: None if kind == but_for else newest(kind, scan, store) for kind in APPLIED}
    rig = parse_rig(scan.rig_text, f"{scan.path} (rig file inside)")
    rail = built(rail_of, chosen["rail"])
    if chosen["rail"] is not None:
        require_fit(chosen["rail"], rig)
    sensor, probe = built(sensor_of, chosen["sensor"]), built(probe_of, chosen["probe"])
    return Calibrations(
        rail,
        built(line_sums_of, chosen["rail"]),
        built(lag_of, chosen["lag"]),
        built(screw_of, chosen["screw"]),
        sensor,
        probe,
        (
            *(_described(kind, chosen[kind], scan) for kind in ("rail", "lag", "screw")),
            sensor_words(chosen["sensor"], sensor, scan, rig),
            probe_words(chosen["probe"], probe, rig),
        ),
    )


def stored_texts(store: CalibrationStore) -> dict[str, str]:
    """The newest text of each kind, to go into a scan file as it is."""
    found = {kind: store.latest(kind) for kind in APPLIED}
    return {kind: one[0] for kind, one in found.items() if one is not None}


def _described(kind: str, found: Found | None, scan: Scan) -> str:
    without = {
        "rail": "rail: no error map; the carriage's own bow stands in every height",
        "lag": "lag: not calibrated; the passes both ways were laid over one another",
        "screw": "screw: by its nominal mm per count",
    }
    if found is None:
        return without[kind]
    if kind == "rail":
        return rail_words(found, scan)
    return f"{kind}: calibrated {found.document['made']}"
