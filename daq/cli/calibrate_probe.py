"""neckform calibrate probe: how large the tip or the spot is."""

from __future__ import annotations

from typing import Annotated

import typer

from calibration.probe.trace import Touched
from daq.cli.desk import AsJson, RigPath, Yes, desk
from daq.documents.calibration_probe import probe_answer
from daq.errors import InputError
from daq.files.rig import load_rig
from daq.steps.calibrate_probe import calibrate_probe
from daq.text.calibration_probe import print_probe
from daq.text.cautions import caution_before_motion
from daq.text.console import say

#: A ground pin or the shank of a good drill, by a micrometer; a blade that cuts.
PIN_UM, EDGE_UM = 1.0, 5.0
THICKEST_PIN_MM = 50.0


def register(app: typer.Typer) -> None:
    """Adds this command to the program."""
    app.command("probe")(probe)


def probe(
    context: typer.Context,
    rig: RigPath,
    pin_mm: Annotated[
        float | None,
        typer.Option("--pin-mm", help="Diameter of the pin that lies across the rail, mm."),
    ] = None,
    pin_um: Annotated[
        float, typer.Option("--pin-um", help="Standard uncertainty of that diameter, µm.")
    ] = PIN_UM,
    edge: Annotated[
        bool, typer.Option("--edge", help="A sharp edge stands across the rail, not a pin.")
    ] = False,
    edge_um: Annotated[
        float, typer.Option("--edge-um", help="How round the edge may itself be, radius, µm.")
    ] = EDGE_UM,
    as_json: AsJson = False,
    yes: Yes = False,
) -> None:
    """Find the tip's radius, or the spot's width, over a known pin or a sharp edge."""
    at = desk(context, as_json=as_json, yes=yes)
    over = _over(pin_mm, pin_um, edge, edge_um)
    rig_file = load_rig(rig)
    say(at.aside, caution_before_motion(), "dim")
    done = calibrate_probe(at.workshop, rig_file, over, at.operator(rig_file))
    print_probe(at.out, done)
    at.answer(probe_answer(done))


def _over(pin_mm: float | None, pin_um: float, edge: bool, edge_um: float) -> Touched:
    """Raises InputError unless it is one of a pin and an edge, and of a size there is."""
    for name, um in (("--pin-um", pin_um), ("--edge-um", edge_um)):
        if not 0.0 <= um <= 100.0:
            raise InputError(f"{name}: found {um:g}; allowed 0 to 100 µm")
    if edge == (pin_mm is not None):
        raise InputError("calibrate probe: allowed one of --pin-mm DIAMETER and --edge")
    if pin_mm is None:
        return Touched(0.0, 1e-3 * edge_um)
    if not 0.5 <= pin_mm <= THICKEST_PIN_MM:
        raise InputError(f"--pin-mm: found {pin_mm:g}; allowed 0.5 to {THICKEST_PIN_MM:g} mm")
    return Touched(0.5 * pin_mm, 0.5e-3 * pin_um)
