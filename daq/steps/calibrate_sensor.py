"""The sensor's curve, from gauges put under its tip one by one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from calibration.clocks.clock import unwrap_u32
from calibration.drift.pads import robust_mean
from calibration.sensor.curve import SensorFit, fit_sensor
from calibration.sensor.faults import check_gauges
from calibration.sensor.readings import GaugeReadings, SensorError
from daq.acquire.use import Look
from daq.errors import InputError
from daq.files.rig import RigFile
from daq.reading.sensor import sensor_document
from daq.steps.recording import Operator, now
from daq.wire.records import ABSENT
from daq.workshop.place import Workshop

#: How long each gauge is read, by the rig's clock.
GAUGE_S = 1.0
#: Fewer valid readings than this, and the gauge was not under the tip.
LEAST_READINGS = 20
#: Readings that scatter by less than this share of a count do not average their rounding out.
DITHER_COUNTS = 0.4


@dataclass(frozen=True, slots=True)
class Gauge:
    """A gauge block or shim: its thickness and the standard uncertainty of that."""

    mm: float
    u_um: float


@dataclass(frozen=True, slots=True)
class SensorCalibrated:
    """The curve, with how it was decided, and where it is kept."""

    fit: SensorFit
    path: Path


@dataclass(frozen=True, slots=True)
class _Visit:
    """One gauge under the tip, come to from below (way 1) or from above (-1)."""

    gauge: Gauge
    way: int
    again: bool


@dataclass(frozen=True, slots=True)
class _Reading:
    """Mean reading, its standard uncertainty, and the device counter in the middle of it."""

    mm: float
    u_mm: float
    t_us: int


def calibrate_sensor(
    workshop: Workshop,
    rig_file: RigFile,
    gauges: Sequence[Gauge],
    operator: Operator,
    *,
    both_ways: bool = True,
) -> SensorCalibrated:
    """Reads every gauge in the order given, then all but the last on the way back, and keeps the
    curve through them.

    The carriage does not move. Without the way back a drift meanwhile would look like an error
    of scale, and nothing would show it. Raises InputError, and keeps nothing, where a gauge was
    not seen, was not the one it was said to be, or the gauges give no curve.
    """
    store = workshop.calibrations(rig_file.name)
    visits = list(_visits(gauges, both_ways))
    with operator.rig.looking() as look:
        found = [_read(look, rig_file, visit, operator) for visit in visits]
    readings = _readings(visits, found)
    try:
        check_gauges(readings)
        fit = fit_sensor(readings)
    except SensorError as error:
        said = str(error)
        stop = "" if said.endswith("?") else ";"
        raise InputError(f"{rig_file.name}: sensor: {said}{stop} nothing was kept") from error
    document = sensor_document(fit, rig_file.name, now(), {"both_ways": both_ways})
    return SensorCalibrated(fit, store.save("sensor", document))


def _visits(gauges: Sequence[Gauge], both_ways: bool) -> Iterator[_Visit]:
    there = 1 if gauges[-1].mm > gauges[0].mm else -1
    for gauge in gauges:
        yield _Visit(gauge, there, False)
    if both_ways:
        for gauge in reversed(gauges[:-1]):
            yield _Visit(gauge, -there, True)


def _read(look: Look, rig_file: RigFile, visit: _Visit, operator: Operator) -> _Reading:
    operator.ask(_request(rig_file, visit))
    samples = look(GAUGE_S)
    valid = samples.raw != ABSENT
    heights = rig_file.z_mm(samples.raw[valid])
    if heights.size < LEAST_READINGS:
        raise InputError(
            f"{rig_file.name}: gauge {visit.gauge.mm:g} mm: {heights.size} valid readings in "
            f"{GAUGE_S:g} s; allowed at least {LEAST_READINGS}: is it under the tip, and in the "
            "sensor's range? nothing was kept"
        )
    mean, u = robust_mean(heights)
    quantum = abs(rig_file.sensor.mm_per_count)
    if np.std(heights) < DITHER_COUNTS * quantum:
        u = float(np.hypot(u, quantum / np.sqrt(12.0)))
    return _Reading(mean, u, int(samples.t_us[valid][heights.size // 2]))


def _request(rig_file: RigFile, visit: _Visit) -> str:
    again = " again" if visit.again else ""
    request = f"Put the {visit.gauge.mm:g} mm gauge under the tip{again}"
    if rig_file.sensor.kind == "optical":
        return request.replace("tip", "sensor")
    rises = "slide it in so that the tip climbs on to it"
    sinks = "lower the tip on to it from above"
    return f"{request}: {rises if visit.way > 0 else sinks}"


def _readings(visits: Sequence[_Visit], found: Sequence[_Reading]) -> GaugeReadings:
    t_us = unwrap_u32(np.array([one.t_us for one in found], dtype=np.uint32))
    return GaugeReadings(
        gauge_mm=np.array([visit.gauge.mm for visit in visits]),
        u_gauge_mm=np.array([1e-3 * visit.gauge.u_um for visit in visits]),
        reading_mm=np.array([one.mm for one in found]),
        way=np.array([visit.way for visit in visits]),
        t_s=np.asarray(1e-6 * (t_us - t_us[0]), dtype=float),
        least_mm=float(np.sqrt(np.mean([one.u_mm**2 for one in found]))),
    )
