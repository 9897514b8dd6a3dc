"""neckform serve: the daemon."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from daq.acquire.rig.session import OpenLink
from daq.cli.desk import desk
from daq.daemon.replayed import replayed
from daq.daemon.serve import Asked, serve
from daq.daemon.simulated import FASTEST, simulated
from daq.errors import InputError
from daq.files.rig import RigFile, load_rig
from daq.link.serial_port import SerialLink
from daq.steps.recording import program

PORT = 8643


def register(app: typer.Typer) -> None:
    """Adds the command to the program."""
    app.command("serve")(serve_rig)


def serve_rig(
    context: typer.Context,
    file: Annotated[
        Path | None,
        typer.Argument(metavar="[RIG.yaml]", help="The rig file.", show_default=False),
    ] = None,
    port: Annotated[
        int, typer.Option("--port", min=0, max=65535, help="Of the page; 0 is any that is free.")
    ] = PORT,
    host: Annotated[
        str, typer.Option("--host", help="Where to listen; other machines need a token.")
    ] = "127.0.0.1",
    token_file: Annotated[
        Path | None,
        typer.Option("--token-file", metavar="FILE", help="A word that every request must have."),
    ] = None,
    log: Annotated[
        Path | None,
        typer.Option("--log", metavar="FILE", help="The log here too, beside standard error."),
    ] = None,
    simulate: Annotated[
        bool, typer.Option("--simulate", help="Serve a rig made of software.")
    ] = False,
    seed: Annotated[int, typer.Option("--seed", help="Which rig made of software.")] = 1,
    pace: Annotated[
        float | None,
        typer.Option(
            "--pace", help=f"--simulate: so many times as fast as steel, 1 to {FASTEST:g}."
        ),
    ] = None,
    replay: Annotated[
        Path | None,
        typer.Option("--replay", metavar="SCAN.h5", help="Serve a recorded scan as a rig."),
    ] = None,
) -> None:
    """Own a rig and serve it: a live page, the commands of this program, a health report.

    It watches the rig until it is told to stop, comes back by itself after a fault, and moves the
    carriage only where a command asks for it.
    """
    at = desk(context)
    asked = Asked(host, port, token_file, log, program())
    rigs = [file is not None, simulate, replay is not None].count(True)
    if rigs != 1:
        found = "no rig" if not rigs else f"{rigs} rigs"
        raise InputError(
            f"serve: found {found}; allowed one: RIG.yaml, --simulate or --replay SCAN.h5"
        )
    if simulate:
        with simulated(at.workshop, seed, _checked_pace(pace)) as (rig_file, hands):
            serve(rig_file, at.workshop, SerialLink, asked, typer.echo, hands)
        return
    if pace is not None:
        raise InputError(
            "--pace: found without --simulate; steel has a pace of its own: leave it out"
        )
    rig_file, open_link = _rig(file, replay)
    serve(rig_file, at.workshop, open_link, asked, typer.echo)


def _rig(file: Path | None, replay: Path | None) -> tuple[RigFile, OpenLink]:
    if replay is not None:
        recorded = replayed(replay)
        return recorded.rig_file, recorded.open_link
    assert file is not None, "one of them is given"
    return load_rig(file), SerialLink


def _checked_pace(pace: float | None) -> float:
    """Raises InputError."""
    if pace is None:
        return 1.0
    if not 1.0 <= pace <= FASTEST:
        raise InputError(
            f"--pace: found {pace:g}; allowed 1 to {FASTEST:g}, times as fast as steel"
        )
    return pace
