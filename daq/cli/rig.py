"""neckform rig: is the rig there, and is it well."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from daq.acquire.check import STILL_S, RigHealth, check_rig
from daq.cli.desk import AsJson, desk
from daq.documents.health import health_document
from daq.files.rig import load_rig
from daq.text.cautions import caution_before_motion
from daq.text.console import say
from daq.text.health import print_health

app = typer.Typer(help="The rig itself.")


@app.callback()
def _group() -> None:
    """The rig itself."""


@app.command("check")
def check(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(metavar="RIG.yaml", help="The rig file.")],
    still: Annotated[
        float,
        typer.Option(
            "--still", min=2.0, max=3600.0, help="Watch for so many seconds; 60 tell of drift."
        ),
    ] = STILL_S,
    as_json: AsJson = False,
) -> None:
    """Validate the rig file, open its link, report rate, gaps, bad frames and noise.

    The carriage moves only where the sensor sees nothing: onto the first pad.
    """
    at = desk(context, as_json=as_json)
    rig = load_rig(file)
    if rig.carriage.drive == "motor":
        say(at.aside, caution_before_motion(), "dim")
    health: RigHealth = check_rig(rig, still)
    print_health(at.out, rig, health)
    at.answer(health_document(rig.name, health))
    if health.faults:
        raise typer.Exit(1)
