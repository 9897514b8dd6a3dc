"""neckform calibrate lag: how late the sensor and how slack the carriage is."""

from __future__ import annotations

import typer

from daq.cli.desk import AsJson, RigPath, Yes, desk
from daq.documents.calibration_lag import lag_answer
from daq.files.rig import load_rig
from daq.steps.calibrate_lag import calibrate_lag
from daq.text.calibration_lag import print_lag
from daq.text.cautions import caution_before_motion
from daq.text.console import say


def register(app: typer.Typer) -> None:
    """Adds this command to the program."""
    app.command("lag")(lag)


def lag(context: typer.Context, rig: RigPath, as_json: AsJson = False, yes: Yes = False) -> None:
    """Find sensor latency and carriage backlash, over whatever stands on the rig."""
    at = desk(context, as_json=as_json, yes=yes)
    rig_file = load_rig(rig)
    say(at.aside, caution_before_motion(), "dim")
    done = calibrate_lag(at.workshop, rig_file, at.operator(rig_file))
    print_lag(at.out, done.found, done.path)
    at.answer(lag_answer(done.found, done.path, done.scan_path))
