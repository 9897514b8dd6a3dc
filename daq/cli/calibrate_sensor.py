"""neckform calibrate sensor: what the sensor's counts mean."""

from __future__ import annotations

from typing import Annotated

import typer

from daq.cli.desk import AsJson, RigPath, Yes, desk
from daq.cli.gauges import gauges_of
from daq.documents.calibration_sensor import sensor_answer
from daq.files.rig import load_rig
from daq.steps.calibrate_sensor import calibrate_sensor
from daq.text.calibration_sensor import print_sensor

#: Gauge blocks of a workshop grade, steel on steel.
GAUGE_UM = 0.3


def register(app: typer.Typer) -> None:
    """Adds this command to the program."""
    app.command("sensor")(sensor)


def sensor(
    context: typer.Context,
    rig: RigPath,
    gauges: Annotated[
        str,
        typer.Option(
            "--gauges",
            help="Gauges or shims in mm, from thin to thick: 0,0.5,1,1.5,2; with their own "
            "uncertainty in µm behind a colon: 0:0.1,0.5:0.3,1:0.3",
        ),
    ],
    gauge_um: Annotated[
        float,
        typer.Option("--gauge-um", help="Standard uncertainty of the gauges that give none, µm."),
    ] = GAUGE_UM,
    one_way: Annotated[
        bool,
        typer.Option(
            "--one-way",
            help="Do not read the gauges again on the way back: neither drift nor hysteresis is "
            "told then.",
        ),
    ] = False,
    as_json: AsJson = False,
    yes: Yes = False,
) -> None:
    """Find the sensor's curve from gauges put under its tip one by one. The carriage stays."""
    at = desk(context, as_json=as_json, yes=yes)
    chosen = gauges_of(gauges, gauge_um)
    rig_file = load_rig(rig)
    done = calibrate_sensor(
        at.workshop, rig_file, chosen, at.operator(rig_file), both_ways=not one_way
    )
    print_sensor(at.out, done.fit, done.path)
    at.answer(sensor_answer(done.fit, done.path))
