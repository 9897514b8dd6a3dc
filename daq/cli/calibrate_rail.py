"""neckform calibrate rail: how straight the carriage runs."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from daq.cli.desk import AsJson, RigPath, Yes, desk
from daq.cli.rail_options import RailOptions, chosen_measure
from daq.documents.calibration_rail import rail_answer
from daq.errors import InputError
from daq.files.rig import load_rig
from daq.steps.calibrate_rail import calibrate_rail
from daq.text.calibration_rail import print_rail
from daq.text.cautions import caution_before_motion
from daq.text.console import say


def register(app: typer.Typer) -> None:
    """Adds this command to the program."""
    app.command("rail")(rail)


def rail(
    context: typer.Context,
    rig: RigPath,
    reference: Annotated[
        str,
        typer.Option(
            "--reference",
            help="What shows the rail: straightedge, reversed (a straightedge, scanned again "
            "turned), offsets (a neck or plank at several places), strings (at pitch, for an "
            "optical sensor).",
        ),
    ] = "straightedge",
    straightedge_um: Annotated[
        float | None,
        typer.Option(
            "--straightedge-um",
            help="The straightedge's own standard uncertainty, µm, from its certificate; 0.3 "
            "where nothing is said.",
        ),
    ] = None,
    rows: Annotated[
        str | None,
        typer.Option("--rows", help="straightedge: y in mm to lay it at, such as -20,0,20."),
    ] = None,
    turn: Annotated[
        str | None, typer.Option("--turn", help="reversed: over (its long axis) or ends.")
    ] = None,
    placements: Annotated[
        int | None, typer.Option("--placements", help="offsets: how many places; 4 by itself.")
    ] = None,
    instrument: Annotated[
        Path | None, typer.Option("--instrument", help="strings: the instrument file (YAML).")
    ] = None,
    strings: Annotated[
        str | None,
        typer.Option("--strings", help="strings: which, such as 1,2,3; the plain ones by itself."),
    ] = None,
    thickness_um: Annotated[
        float | None,
        typer.Option(
            "--thickness-um", help="strings: how evenly thick one is, standard uncertainty, µm."
        ),
    ] = None,
    join: Annotated[
        bool,
        typer.Option("--join", help="Combine with what the newest map of this rail was made of."),
    ] = False,
    celsius: Annotated[
        float | None,
        typer.Option("--celsius", help="The rig's temperature, where it does not measure it."),
    ] = None,
    as_json: AsJson = False,
    yes: Yes = False,
) -> None:
    """Find the rail's error by one way or several, and keep its map."""
    at = desk(context, as_json=as_json, yes=yes)
    given = RailOptions(straightedge_um, rows, turn, placements, instrument, strings, thickness_um)
    measure = chosen_measure(reference, given)
    if celsius is not None and not -20.0 <= celsius <= 60.0:
        raise InputError(f"--celsius: found {celsius:g}; allowed -20 to 60 °C")
    rig_file = load_rig(rig)
    say(at.aside, caution_before_motion(), "dim")
    done = calibrate_rail(
        at.workshop, rig_file, measure, at.operator(rig_file), join=join, celsius=celsius
    )
    print_rail(at.out, done)
    at.answer(rail_answer(done))
