"""neckform calibrate repeatability: how well the rig repeats itself on a neck."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from daq.cli.desk import AsJson, RigPath, Yes, desk
from daq.documents.calibration_repeatability import repeatability_answer
from daq.errors import InputError
from daq.files.instrument import load_instrument
from daq.files.rig import load_rig
from daq.steps.calibrate_repeatability import calibrate_repeatability
from daq.steps.repeated_scans import Repeats
from daq.steps.scan import checked_state
from daq.text.calibration_repeatability import print_repeatability
from daq.text.cautions import caution_before_motion, caution_strings
from daq.text.console import say

SCANS = CLAMPINGS = 3


def register(app: typer.Typer) -> None:
    """Adds this command to the program."""
    app.command("repeatability")(repeatability)


def repeatability(
    context: typer.Context,
    rig: RigPath,
    instrument: Annotated[
        Path, typer.Option("--instrument", help="The file of the instrument on the rig (YAML).")
    ],
    state: Annotated[str, typer.Option("--state", help="strung or unstrung.")],
    scans: Annotated[int, typer.Option("--scans", help="Scans under each clamping.")] = SCANS,
    clampings: Annotated[
        int, typer.Option("--clampings", help="How often the neck is clamped.")
    ] = CLAMPINGS,
    lanes: Annotated[
        str, typer.Option("--lanes", help="By string, 2.5 is midway: 1,3,6; else outer and middle.")
    ] = "",
    as_json: AsJson = False,
    yes: Yes = False,
) -> None:
    """Scan a neck again and again, clamped anew between, and keep how well that repeats."""
    at = desk(context, as_json=as_json, yes=yes)
    repeats = Repeats(checked_state(state), scans, clampings, _strings(lanes))
    rig_file, instrument_file = load_rig(rig), load_instrument(instrument)
    say(at.aside, caution_before_motion(), "dim")
    if state == "strung":
        say(at.aside, caution_strings(), "dim")
    found = calibrate_repeatability(
        at.workshop, rig_file, instrument_file, repeats, at.operator(rig_file)
    )
    print_repeatability(at.out, found)
    if found.caution is not None:
        at.warn(found.caution)
    at.answer(repeatability_answer(found))


def _strings(given: str) -> tuple[float, ...]:
    """Numbers between commas, none for the usual lanes. Raises InputError."""
    try:
        return tuple(float(part) for part in given.split(",")) if given else ()
    except ValueError:
        raise InputError(
            f"--lanes: found {given!r}; allowed strings between commas, such as 1,3,6, or 1.5,3.5 "
            "for midway between strings"
        ) from None
