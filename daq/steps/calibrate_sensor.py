"""The sensor's curve, from gauges put under its tip one by one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from calibration.drift import robust_mean
from calibration.sensor import SensorCurve, SensorError, fit_sensor, to_document
from daq.acquire.rig import Rig
from daq.acquire.session import OpenLink, rig_session
from daq.acquire.sink import NullSink
from daq.acquire.still import still_heights_mm
from daq.errors import InputError
from daq.files.rig import RigFile
from daq.link.serial_port import SerialLink
from daq.steps.recording import Operator, now
from daq.workshop.place import Workshop

#: How long each gauge is read, by the rig's clock.
GAUGE_S = 1.0
#: Fewer valid readings than this, and the gauge was not under the tip.
LEAST_READINGS = 20
#: A sensor that scatters by more of its range than this about its curve was not on the gauges.
WILDEST_SHARE = 0.02


@dataclass(frozen=True, slots=True)
class SensorCalibrated:
    """The curve and where it is kept."""

    curve: SensorCurve
    path: Path


def calibrate_sensor(
    workshop: Workshop,
    rig_file: RigFile,
    gauges_mm: Sequence[float],
    u_gauge_um: float,
    operator: Operator,
    *,
    open_link: OpenLink = SerialLink,
) -> SensorCalibrated:
    """Reads every gauge in the order given and keeps the curve through them.

    The carriage does not move. u_gauge_um: standard uncertainty of each gauge. Raises
    InputError, and keeps nothing, where a gauge was not seen or the gauges give no curve.
    """
    store = workshop.calibrations(rig_file.name)
    with rig_session(rig_file, NullSink(), open_link) as (rig, _):
        readings = [_read(rig, rig_file, gauge, operator) for gauge in gauges_mm]
    gauges = np.array(gauges_mm, dtype=float)
    try:
        curve = fit_sensor(np.array(readings), gauges, np.full(gauges.size, 1e-3 * u_gauge_um))
    except SensorError as error:
        raise InputError(f"{rig_file.name}: sensor: {error}; nothing was kept") from error
    spread = float(np.ptp(gauges))
    if curve.scatter_mm > WILDEST_SHARE * spread:
        raise InputError(
            f"{rig_file.name}: sensor: the readings do not follow the gauges: scatter "
            f"{1e3 * curve.scatter_mm:.0f} µm over {spread:g} mm; allowed "
            f"{100 * WILDEST_SHARE:g} % of that: was each gauge under the tip? nothing was kept"
        )
    document = {**to_document(curve), "rig": rig_file.name, "made": now()}
    return SensorCalibrated(curve, store.save("sensor", document))


def _read(rig: Rig, rig_file: RigFile, gauge_mm: float, operator: Operator) -> float:
    operator.ask(f"Put the {gauge_mm:g} mm gauge under the tip")
    heights = still_heights_mm(rig, rig_file, GAUGE_S)
    if heights.size < LEAST_READINGS:
        raise InputError(
            f"{rig_file.name}: gauge {gauge_mm:g} mm: {heights.size} valid readings in "
            f"{GAUGE_S:g} s; allowed at least {LEAST_READINGS}: is it under the tip, and in the "
            "sensor's range? nothing was kept"
        )
    return robust_mean(heights)[0]
