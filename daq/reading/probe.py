"""What the probe's calibration found, as it is kept, and what it says of a scan's tip."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.neck.neck import Tip
from calibration.probe.spot import SpotFound
from calibration.probe.tip import TipFound
from daq.files.rig import RigFile
from daq.reading.found import Document, Found


@dataclass(frozen=True, slots=True)
class Probe:
    """The tip's radius or the spot's width, as measured, mm, and its standard uncertainty.

    nominal_mm: what the rig file said of it then.
    """

    optical: bool
    size_mm: float
    u_mm: float
    nominal_mm: float

    def fits(self, rig: RigFile) -> bool:
        """Whether the rig still has the tip that was measured, by its rig file."""
        return self.optical == (rig.sensor.kind == "optical") and self.nominal_mm == nominal_mm(rig)


def nominal_mm(rig: RigFile) -> float:
    """What the rig file says: the tip's radius, or the spot's width."""
    given = rig.sensor.spot_mm if rig.sensor.kind == "optical" else rig.sensor.tip_radius_mm
    return float(given or 0.0)


def tip_of(rig: RigFile, probe: Probe | None) -> Tip:
    """The tip a scan was made with: as measured, where it still is that one, else by the rig
    file."""
    size = probe.size_mm if probe is not None and probe.fits(rig) else nominal_mm(rig)
    return Tip(0.0, size) if rig.sensor.kind == "optical" else Tip(size)


def probe_document(
    found: TipFound | SpotFound, rig: RigFile, made: str, about: Document
) -> dict[str, object]:
    """The tip or the spot as it is kept."""
    if isinstance(found, TipFound):
        size = {
            "tip_radius_mm": found.radius_mm,
            "u_tip_radius_mm": found.u_mm,
            "flat_mm": found.flat_mm,
        }
    else:
        size = {"spot_mm": found.width_mm, "u_spot_mm": found.u_mm}
    return {
        "kind": "probe",
        "rig": rig.name,
        "made": made,
        **about,
        "sensor": rig.sensor.kind,
        "nominal_mm": nominal_mm(rig),
        **size,
        "passes": found.passes,
        "spread_um": found.spread_um,
    }


def probe_of(document: Document) -> Probe:
    """What a document describes. Raises KeyError or ValueError where it describes none."""
    optical = document["sensor"] == "optical"
    key = "spot_mm" if optical else "tip_radius_mm"
    size, u, nominal = (float(document[each]) for each in (key, f"u_{key}", "nominal_mm"))
    if not (np.isfinite([size, u, nominal]).all() and size > 0.0 and u >= 0.0):
        raise ValueError(f"{key} must be above 0 and its uncertainty a number")
    return Probe(optical, size, u, nominal)


def probe_words(found: Found | None, probe: Probe | None, rig: RigFile) -> str:
    """Which radius or width a result is made with."""
    name = "spot" if rig.sensor.kind == "optical" else "tip radius"
    given = f"{nominal_mm(rig):g} mm by the rig file"
    if found is None or probe is None:
        return f"probe: {name} {given}"
    if not probe.fits(rig):
        return (
            f"probe: {name} {given}; what was measured {found.document['made']} was of another "
            "tip or sensor: calibrate the probe again"
        )
    return (
        f"probe: {name} {probe.size_mm:.4f} ± {probe.u_mm:.4f} mm, measured "
        f"{found.document['made']}"
    )
