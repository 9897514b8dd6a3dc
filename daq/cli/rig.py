"""neckform rig: is the rig there, and is it well."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from daq.acquire.health.check import STILL_S
from daq.cli.desk import AsJson, Desk, Yes, desk
from daq.documents.health import health_document
from daq.files.rig import RigFile, load_rig
from daq.steps.checking import check as check_step
from daq.text.cautions import caution_before_motion
from daq.text.console import say
from daq.text.health import print_health

app = typer.Typer(help="The rig itself.")


def register(program: typer.Typer) -> None:
    """Adds these commands to the program."""
    program.add_typer(app, name="rig")


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
    yes: Yes = False,
) -> None:
    """Validate the rig file, open its links, report rate, gaps, bad frames and noise, and compare
    the rig with its calibrations.

    Where a motor drives and you agree, the carriage goes along its travel and back: are axes,
    counts, scale and pads as the file has them? Otherwise it moves only where the sensor sees
    nothing: onto the first pad.
    """
    at = desk(context, as_json=as_json, yes=yes)
    rig = load_rig(file)
    store = at.workshop.calibrations(rig.name)
    if rig.carriage.drive == "motor":
        say(at.aside, caution_before_motion(), "dim")
    done = check_step(at.rig(rig), store, still, over_pads=_may_drive(at, rig))
    print_health(at.out, rig, done.health, done.fitness)
    at.answer(health_document(rig.name, done.health, done.fitness))
    if not done.fitness.fit:
        raise typer.Exit(1)


def _may_drive(at: Desk, rig: RigFile) -> bool:
    """Without anybody to ask the carriage stays where it is."""
    asked = at.yes or sys.stdin.isatty()
    if rig.carriage.drive != "motor" or not asked:
        return False
    at.ask("Clear the carriage's way: it goes along its whole travel and back")
    return True
