"""neckform: the one program."""

from __future__ import annotations

import errno
import os
import sys
from pathlib import Path
from typing import Annotated

import typer

from daq.cli.lazy import lazily
from daq.cli.process import PROGRAM, prepare
from daq.errors import InputError, NeckformError

app = typer.Typer(
    cls=lazily(
        {
            "rig": "daq.cli.rig",
            "calibrate": "daq.cli.calibrate",
            "job": "daq.cli.job",
            "demo": "daq.cli.demo",
            "scan": "daq.cli.scans",
            "replay": "daq.cli.scans",
            "recover": "daq.cli.scans",
            "tops": "daq.cli.tops",
            "compare": "daq.cli.compare",
            "rod": "daq.cli.rod_learnt",
            "plan": "daq.cli.work",
            "verify": "daq.cli.work",
            "report": "daq.cli.report",
            "law": "daq.cli.law",
            "archive": "daq.cli.archive",
            "serve": "daq.cli.serve",
        }
    ),
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
