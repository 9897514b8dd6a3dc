"""neckform calibrate: what the rig does wrong."""

from __future__ import annotations

import typer

from daq.cli.lazy import Later, lazily

KINDS = {
    "rail": Later(
        "daq.cli.calibrate_rail", "Find the rail's error by one way or several, and keep its map."
    ),
    "sensor": Later(
        "daq.cli.calibrate_sensor",
        "Find the sensor's curve from gauges put under its tip one by one.",
    ),
    "lag": Later(
        "daq.cli.calibrate_lag",
        "Find sensor latency and carriage backlash, over whatever stands on the rig.",
    ),
    "probe": Later(
        "daq.cli.calibrate_probe",
        "Find the tip's radius, or the spot's width, over a known pin or a sharp edge.",
    ),
    "repeatability": Later(
        "daq.cli.calibrate_repeatability",
        "Scan a neck again and again, clamped anew between, and keep how well that repeats.",
    ),
    "screw": Later(
        "daq.cli.calibrate_screw",
        "Find the lead screw's scale and periodic error from the frets of the neck on the rig.",
    ),
}

app = typer.Typer(
    cls=lazily(KINDS),
    help="Find out what the rig does wrong.",
)


def register(program: typer.Typer) -> None:
    """Adds these commands to the program."""
    program.add_typer(app, name="calibrate")


@app.callback()
def _group() -> None:
    """Find out what the rig does wrong."""
