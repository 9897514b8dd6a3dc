"""neckform calibrate screw: how far the carriage really goes for what it counts."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from daq.cli.desk import AsJson, RigPath, Yes, desk
from daq.documents.calibration_screw import screw_answer
from daq.errors import InputError
from daq.files.instrument import load_instrument
from daq.files.rig import load_rig
from daq.steps.calibrate_screw import STEPS_MM, calibrate_screw
from daq.text.calibration_screw import print_screw
from daq.text.cautions import caution_before_motion
from daq.text.console import say

SHORTEST_MM, LONGEST_MM = 0.3, 200.0


def register(app: typer.Typer) -> None:
    """Adds this command to the program."""
    app.command("screw")(screw)


def screw(
    context: typer.Context,
    rig: RigPath,
    instrument: Annotated[
        Path,
        typer.Option("--instrument", help="The instrument on the rig, its scale length trusted."),
    ],
    placements: Annotated[
        int, typer.Option("--placements", help="How often the neck is moved along and scanned.")
    ] = 1,
    pitch_mm: Annotated[
        float | None,
        typer.Option("--pitch-mm", help="Travel of one turn of the screw; left out: searched."),
    ] = None,
    as_json: AsJson = False,
    yes: Yes = False,
) -> None:
    """Find the lead screw's scale and periodic error from the frets of the neck on the rig."""
    at = desk(context, as_json=as_json, yes=yes)
    if not 1 <= placements <= len(STEPS_MM):
        raise InputError(f"--placements: found {placements}; allowed 1 to {len(STEPS_MM)}")
    if pitch_mm is not None and not SHORTEST_MM <= pitch_mm <= LONGEST_MM:
        raise InputError(
            f"--pitch-mm: found {pitch_mm:g}; allowed {SHORTEST_MM:g} to {LONGEST_MM:g} mm"
        )
    rig_file, record = load_rig(rig), load_instrument(instrument).record
    say(at.aside, caution_before_motion(), "dim")
    done = calibrate_screw(
        at.workshop, rig_file, record, placements, pitch_mm, at.operator(rig_file)
    )
    print_screw(at.out, done.found, done.path)
    at.answer(screw_answer(done.found, done.path, done.scan_paths))
