"""The sensor's curve as it is kept, and back; and a scan's readings put through it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from calibration.passes import RawPass
from calibration.sensor.curve import SensorCurve, SensorFit
from daq.errors import InputError
from daq.files.rig import RigFile
from daq.reading.found import Document, Found
from daq.record.scan import Scan
from daq.wire.records import ABSENT, SampleBlock

_ARRAYS = ("coefficients", "covariance", "reading_mm", "gauge_mm", "u_gauge_mm")
#: With more of a scan's readings than this beyond the gauges, what is left is no scan.
MOST_OUTSIDE = 0.5


def sensor_document(fit: SensorFit, rig: str, made: str, about: Document) -> dict[str, object]:
    """The curve as it is kept, with how it was decided and what rising against falling said."""
    curve, loop = fit.curve, fit.hysteresis
    return {
        "kind": "sensor",
        "rig": rig,
        "made": made,
        **about,
        "reference_mm": curve.reference_mm,
        "coefficients": curve.coefficients.tolist(),
        "covariance": curve.covariance.tolist(),
        "factor": curve.factor,
        "scatter_mm": curve.scatter_mm,
        "reading_mm": curve.reading_mm.tolist(),
        "gauge_mm": curve.gauge_mm.tolist(),
        "u_gauge_mm": curve.u_gauge_mm.tolist(),
        "shift_mm": curve.shift_mm.tolist(),
        "u_hysteresis_mm": curve.hysteresis_mm,
        "hysteresis": None
        if loop is None
        else {
            "falling_less_rising_mm": loop.whole_mm,
            "u_mm": loop.u_mm,
            "chance_of_none": loop.chance,
            "gauge_mm": loop.gauge_mm.tolist(),
            "each_mm": loop.each_mm.tolist(),
            "u_each_mm": loop.u_each_mm.tolist(),
            "drift_mm_s": loop.drift_mm_s,
            "u_drift_mm_s": loop.u_drift_mm_s,
        },
    }


def sensor_of(document: Document) -> SensorCurve:
    """The curve a document describes. Raises KeyError or ValueError where it describes none.

    Documents of before there was a hysteresis in them say nothing of it, and of no factor.
    """
    arrays = {key: np.array(document[key], dtype=float) for key in _ARRAYS}
    size = arrays["coefficients"].size
    if arrays["covariance"].shape != (size, size) or arrays["reading_mm"].ndim != 1:
        raise ValueError("covariance must be as wide as coefficients, reading_mm a list of numbers")
    none = np.zeros(arrays["reading_mm"].size)
    curve = SensorCurve(
        reference_mm=float(document["reference_mm"]),
        scatter_mm=float(document["scatter_mm"]),
        factor=float(document.get("factor", 1.96)),
        hysteresis_mm=float(document.get("u_hysteresis_mm", 0.0)),
        shift_mm=np.array(document.get("shift_mm", none), dtype=float),
        **arrays,
    )
    if not (size > 1 and none.size and np.isfinite(curve.coefficients).all()):
        raise ValueError("a number is missing")
    return curve


def through_curve(passes: Sequence[RawPass], curve: SensorCurve, where: str) -> list[RawPass]:
    """Every pass in true millimetres; readings beyond the gauges are no readings.

    where: the scan, for messages. Raises InputError where most readings lie beyond.
    """
    z_mm = np.concatenate([one.z_mm for one in passes])
    seen = np.isfinite(z_mm)
    beyond = seen & ~curve.apply(z_mm)[2]
    if np.count_nonzero(beyond) > MOST_OUTSIDE * np.count_nonzero(seen):
        low, high = curve.range_mm
        raise InputError(
            f"{where}: {_beyond(beyond, seen)} outside what the sensor's gauges covered, "
            f"{low:.2f} to {high:.2f} mm; this scan reads from {z_mm[seen].min():.2f} to "
            f"{z_mm[seen].max():.2f} mm: calibrate the sensor again with gauges to cover that"
        )
    return [_through(one, curve) for one in passes]


def _through(one: RawPass, curve: SensorCurve) -> RawPass:
    value, _, inside = curve.apply(one.z_mm)
    return replace(one, z_mm=np.where(inside, value, np.nan))


def sensor_words(found: Found | None, curve: SensorCurve | None, scan: Scan, rig: RigFile) -> str:
    """When the curve was made, and how many of the scan's readings lie beyond its gauges."""
    if found is None or curve is None:
        return "sensor: by its nominal mm per count"
    good = [one.samples for one in scan.passes if one.good]
    raw = SampleBlock.concatenate(good).raw
    z_mm = rig.z_mm(raw[raw != ABSENT])
    beyond = ~curve.apply(z_mm)[2]
    made = f"sensor: calibrated {found.document['made']}"
    if not beyond.any():
        return made
    low, high = curve.range_mm
    return (
        f"{made}; {_beyond(beyond, np.ones_like(beyond))} outside its gauges, {low:.2f} to "
        f"{high:.2f} mm, and were left out"
    )


def _beyond(beyond: np.ndarray, seen: np.ndarray) -> str:
    return f"{np.count_nonzero(beyond)} of {np.count_nonzero(seen)} readings lie"
