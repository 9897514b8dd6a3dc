"""neckform calibrate: what the rig does wrong."""

from __future__ import annotations

import typer

from daq.cli.calibrate_lag import lag
from daq.cli.calibrate_probe import probe
from daq.cli.calibrate_rail import rail
from daq.cli.calibrate_repeatability import repeatability
from daq.cli.calibrate_screw import screw
from daq.cli.calibrate_sensor import sensor

app = typer.Typer(help="Find out what the rig does wrong.")
app.command("rail")(rail)
app.command("sensor")(sensor)
app.command("lag")(lag)
app.command("probe")(probe)
app.command("repeatability")(repeatability)
app.command("screw")(screw)
