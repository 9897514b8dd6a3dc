"""neckform calibrate: what the rig does wrong."""

from __future__ import annotations

from typing import Annotated

import typer

from daq.cli.desk import AsJson, RigPath, Yes, desk
from daq.documents.calibration import lag_answer, rail_answer, sensor_answer
from daq.errors import InputError
from daq.files.rig import load_rig
from daq.steps.calibrate import calibrate_lag, calibrate_rail
from daq.steps.calibrate_sensor import calibrate_sensor
from daq.text.calibration import print_lag, print_rail, print_sensor
from daq.text.cautions import caution_before_motion
from daq.text.console import say

app = typer.Typer(help="Find out what the rig does wrong.")

#: Gauge blocks of a workshop grade, steel on steel.
GAUGE_UM = 0.3
#: A good toolmaker's straightedge, used over its middle.
STRAIGHTEDGE_UM = 0.3


@app.command("rail")
def rail(
    context: typer.Context,
    rig: RigPath,
    reference: Annotated[
        str, typer.Option("--reference", help="What lies on the rig: straightedge.")
    ] = "straightedge",
    straightedge_um: Annotated[
        float,
        typer.Option(
            "--straightedge-um",
            help="The straightedge's own standard uncertainty, µm, from its certificate.",
        ),
    ] = STRAIGHTEDGE_UM,
    as_json: AsJson = False,
    yes: Yes = False,
) -> None:
    """Scan a straightedge and keep the rail's error map."""
    at = desk(context, as_json=as_json, yes=yes)
    if reference != "straightedge":
        raise InputError(f"--reference: found {reference!r}; allowed straightedge")
    if not 0.0 <= straightedge_um <= 100.0:
        raise InputError(f"--straightedge-um: found {straightedge_um:g}; allowed 0 to 100 µm")
    rig_file = load_rig(rig)
    say(at.aside, caution_before_motion(), "dim")
    done = calibrate_rail(at.workshop, rig_file, straightedge_um, at.operator())
    print_rail(at.out, done.rail, straightedge_um, done.path)
    at.answer(rail_answer(done.rail, done.path, done.scan_path))


@app.command("sensor")
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


@app.command("lag")
def lag(context: typer.Context, rig: RigPath, as_json: AsJson = False, yes: Yes = False) -> None:
    """Find sensor latency and carriage backlash, over whatever stands on the rig."""
    at = desk(context, as_json=as_json, yes=yes)
    rig_file = load_rig(rig)
    say(at.aside, caution_before_motion(), "dim")
    done = calibrate_lag(at.workshop, rig_file, at.operator())
    print_lag(at.out, done.lag, done.path)
    at.answer(lag_answer(done.lag, done.path, done.scan_path))
