"""neckform calibrate rail: how straight the carriage runs."""

from __future__ import annotations

from typing import Annotated

import typer

from daq.cli.desk import AsJson, RigPath, Yes, desk
from daq.documents.calibration_rail import rail_answer
from daq.errors import InputError
from daq.files.rig import load_rig
from daq.steps.calibrate_rail import calibrate_rail
from daq.text.calibration_rail import print_rail
from daq.text.cautions import caution_before_motion
from daq.text.console import say

#: A good toolmaker's straightedge, used over its middle.
STRAIGHTEDGE_UM = 0.3


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
