"""neckform demo: the whole job on the software rig."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from daq.cli.desk import AsJson, desk
from daq.cli.process import PROGRAM
from daq.demo.run import Demo, run_demo
from daq.errors import InputError
from daq.text.console import say


def register(app: typer.Typer) -> None:
    """Adds this command to the program."""
    app.command("demo")(demo)


def demo(
    context: typer.Context,
    folder: Annotated[
        Path | None, typer.Option("--folder", metavar="DIR", help="Where the demo's workshop goes.")
    ] = None,
    seed: Annotated[int, typer.Option("--seed", min=0, help="Which instrument and rig.")] = 1,
    as_json: AsJson = False,
) -> None:
    """The whole job on a simulated rig, over a pseudo-terminal, through the same code."""
    at = desk(context, as_json=as_json)
    where = folder if folder is not None else _free(Path("neckform-demo"))
    if (where / "workshop").exists():
        raise InputError(f"--folder: {where} holds a demo already; allowed an empty or new folder")
    document = run_demo(Demo(context.meta[PROGRAM], where, at.out, as_json), seed)
    say(at.out, f"Everything is in {where}.")
    at.answer(document)


def _free(wanted: Path) -> Path:
    """The folder itself, or the first of its kind that is not there yet."""
    folder, number = wanted, 1
    while folder.exists():
        number += 1
        folder = wanted.with_name(f"{wanted.name}-{number}")
    return folder
