"""neckform calibrate sensor: what the sensor's counts mean."""

from __future__ import annotations

from typing import Annotated

import typer

from daq.cli.desk import AsJson, RigPath, Yes, desk
from daq.documents.calibration_sensor import sensor_answer
from daq.errors import InputError
from daq.files.rig import load_rig
from daq.steps.calibrate_sensor import calibrate_sensor
from daq.text.calibration_sensor import print_sensor

#: Gauge blocks of a workshop grade, steel on steel.
GAUGE_UM = 0.3


def sensor(
    context: typer.Context,
    rig: RigPath,
    gauges: Annotated[
        str, typer.Option("--gauges", help="Gauges or shims in mm, in order: 0,0.5,1,1.5,2")
    ],
    gauge_um: Annotated[
        float, typer.Option("--gauge-um", help="Standard uncertainty of each gauge, µm.")
    ] = GAUGE_UM,
    as_json: AsJson = False,
    yes: Yes = False,
) -> None:
    """Find the sensor's curve from gauges put under its tip one by one. The carriage stays."""
    at = desk(context, as_json=as_json, yes=yes)
    if not 0.0 <= gauge_um <= 100.0:
        raise InputError(f"--gauge-um: found {gauge_um:g}; allowed 0 to 100 µm")
    done = calibrate_sensor(at.workshop, load_rig(rig), _gauges_mm(gauges), gauge_um, at.operator())
    print_sensor(at.out, done.curve, done.path)
    at.answer(sensor_answer(done.curve, done.path))


def _gauges_mm(given: str) -> list[float]:
    """Numbers between commas. Raises InputError."""
    try:
        found = [float(part) for part in given.split(",")]
    except ValueError:
        found = []
    if len(found) < 3 or not all(-100.0 <= gauge <= 100.0 for gauge in found):
        raise InputError(
            f"--gauges: found {given!r}; allowed three or more thicknesses in mm between commas, "
            "such as 0,0.5,1,1.5,2"
        )
    return found
