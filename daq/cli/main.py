"""neckform: the one program."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Annotated

import typer

from daq.cli import calibrate, demo, job, neck, rig, scans, work
from daq.errors import InputError, NeckformError

app = typer.Typer(
    help="Measure a fretted neck with the strings on, decide the least metal to take off, "
    "and verify what was removed.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
app.add_typer(rig.app, name="rig")
app.add_typer(calibrate.app, name="calibrate")
app.add_typer(job.app, name="job")
for commands in (demo, scans, neck, work):
    commands.register(app)


@app.callback()
def _workshop(
    context: typer.Context,
    workshop: Annotated[
        Path | None,
        typer.Option(
            "--workshop",
            help="The folder of jobs, calibrations and scans (else NECKFORM_WORKSHOP).",
        ),
    ] = None,
) -> None:
    context.obj = workshop
    context.meta[demo.PROGRAM] = main


def main(arguments: list[str]) -> int:
    """Runs one command line and returns its exit code; a fault is one line on standard error."""
    try:
        code = app(arguments, prog_name="neckform", standalone_mode=False)
        return code if isinstance(code, int) else 0
    except NeckformError as error:
        return _fault(str(error), error.exit_code)
    except typer.Exit as stop:
        return stop.exit_code
    except typer.Abort:
        return _fault("given up", 2)
    except KeyboardInterrupt:
        return _fault(
            "stopped; what was recorded is kept: `neckform recover` makes a scan of it", 3
        )
    except BrokenPipeError:
        # whoever read our output has gone; say nothing more into the pipe
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except OSError as error:
        return _fault(f"{error.filename or 'the system'}: {error.strerror or error}", 3)
    except Exception as error:
        usage = getattr(error, "format_message", None)
        if usage is None:
            raise
        return _fault(f"{usage()}; see `neckform --help`", InputError.exit_code)


def _fault(line: str, code: int) -> int:
    sys.stderr.write("".join(f"neckform: {one}\n" for one in line.splitlines()))
    return code


def run() -> None:
    """The console script."""
    sys.exit(main(sys.argv[1:]))
