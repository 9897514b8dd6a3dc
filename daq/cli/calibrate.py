"""neckform calibrate: what the rig does wrong."""

from __future__ import annotations

import typer

from daq.cli.lazy import lazily

KINDS = ("rail", "sensor", "lag", "probe", "repeatability", "screw")

app = typer.Typer(
    cls=lazily({kind: f"daq.cli.calibrate_{kind}" for kind in KINDS}),
    help="Find out what the rig does wrong.",
)


def register(program: typer.Typer) -> None:
    """Adds these commands to the program."""
    program.add_typer(app, name="calibrate")


@app.callback()
def _group() -> None:
    """Find out what the rig does wrong."""
