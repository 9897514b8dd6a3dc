"""neckform: the one program."""

from __future__ import annotations

import errno
import os
import sys
from pathlib import Path
from typing import Annotated

import typer

from daq.cli.lazy import Later, lazily
from daq.cli.process import PROGRAM, prepare
from daq.errors import InputError, NeckformError

COMMANDS = {
    "rig": Later("daq.cli.rig", "The rig itself."),
    "calibrate": Later("daq.cli.calibrate", "Find out what the rig does wrong."),
    "job": Later("daq.cli.job", "One instrument on the bench."),
    "demo": Later(
        "daq.cli.demo",
        "The whole job on a simulated rig, over a pseudo-terminal, through the same code.",
    ),
    "scan": Later("daq.cli.scans", "Scan every lane of one state, both ways, into the job."),
    "replay": Later("daq.cli.scans", "Feed a scan's recorded bytes through the decode path again."),
    "recover": Later(
        "daq.cli.scans", "Turn what an interrupted scan left behind into a scan file."
    ),
    "tops": Later(
        "daq.cli.tops", "Fret tops, relief, twist and radius from the latest scans of a state."
    ),
    "compare": Later(
        "daq.cli.compare", "Strung against unstrung: how the neck moves under its strings."
    ),
    "rod": Later(
        "daq.cli.rod_learnt",
        "What the truss rod does on this neck, by scans at two settings of it.",
    ),
    "plan": Later("daq.cli.work", "The setup and the cut plan: the least metal for this player."),
    "verify": Later(
        "daq.cli.work",
        "After the cut: planned against achieved, what is left, and the strung neck at the end.",
    ),
    "report": Later("daq.cli.report", "The job's report: one HTML file that needs no network."),
    "law": Later(
        "daq.cli.law",
        "What comes off of what is meant, by tool and fret metal, from all verified cuts.",
    ),
    "archive": Later(
        "daq.cli.archive",
        "Every scan under any folders: indexed, searched, told over years, read again.",
    ),
    "serve": Later(
        "daq.cli.serve",
        "Own a rig and serve it: a live page, the commands of this program, a health report.",
    ),
}

app = typer.Typer(
    cls=lazily(COMMANDS),
    help="Measure a fretted neck with the strings on, decide the least metal to take off, "
    "and verify what was removed.",
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


@app.callback()
def _workshop(
    context: typer.Context,
    workshop: Annotated[
        str | None,
        typer.Option(
            "--workshop",
            metavar="DIR",
            help="The folder of jobs, calibrations and scans (else NECKFORM_WORKSHOP).",
        ),
    ] = None,
) -> None:
    if workshop == "":
        raise InputError("--workshop: found nothing; allowed a folder")
    context.obj = None if workshop is None else Path(workshop)
    context.meta[PROGRAM] = main


def main(arguments: list[str]) -> int:
    """Runs one command line and returns its exit code; a fault is one line on standard error."""
    try:
        _call(arguments or ["--help"])
    except NeckformError as error:
        return _fault(str(error), error.exit_code)
    except typer.Exit as stop:
        return stop.exit_code
    except (KeyboardInterrupt, typer.Abort):
        return _fault("stopped", NeckformError.exit_code)
    except SystemExit:
        # rich ends a program whose output nobody reads any more, having turned it to nowhere
        return 0
    except OSError as error:
        return _system_fault(error)
    except Exception as error:
        usage = getattr(error, "format_message", None)
        if usage is None:
            raise
        return _fault(f"{' '.join(usage().split()).rstrip('.')}; {_see(error)}", 2)
    return 0


def _call(arguments: list[str]) -> None:
    """Not `app(arguments)`: that would make an exit code of its own of Ctrl-C."""
    command = typer.main.get_command(app)
    with command.make_context("neckform", list(arguments)) as context:
        command.invoke(context)


def _see(error: Exception) -> str:
    context = getattr(error, "ctx", None)
    return f"see `{context.command_path if context is not None else 'neckform'} --help`"


def _system_fault(error: OSError) -> int:
    if error.errno == errno.EPIPE:
        # whoever read our output has gone; say nothing more into the pipe
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    where = error.filename or "writing the output, or asking something of the system"
    return _fault(f"{where}: {error.strerror or error}", NeckformError.exit_code)


def _fault(line: str, code: int) -> int:
    sys.stderr.write("".join(f"neckform: {one}\n" for one in line.splitlines()))
    return code


def run() -> None:
    """The console script."""
    prepare()
    sys.exit(main(sys.argv[1:]))
