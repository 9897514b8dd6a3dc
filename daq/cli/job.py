"""neckform job: one instrument on the bench."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from daq.cli.desk import AsJson, JobName, desk
from daq.files.instrument import load_instrument
from daq.text.console import say
from daq.text.strings import string_cautions

app = typer.Typer(help="One instrument on the bench.")


def register(program: typer.Typer) -> None:
    """Adds these commands to the program."""
    program.add_typer(app, name="job")


@app.callback()
def _group() -> None:
    """One instrument on the bench."""


@app.command("new")
def new(
    context: typer.Context,
    name: JobName,
    instrument: Annotated[Path, typer.Option("--instrument", help="The instrument file (YAML).")],
    as_json: AsJson = False,
) -> None:
    """Open a job: a folder with its own copy of the instrument file."""
    at = desk(context, as_json=as_json)
    file = load_instrument(instrument)
    job = at.workshop.new_job(name, file)
    record = file.record
    for caution in string_cautions(record):
        at.warn(caution)
    say(
        at.out,
        f"Job {job.name} is open: {record.name}, {len(record.strings)} strings, "
        f"{record.frets} frets. Its folder is {job.folder}.",
    )
    at.answer({"job": job.name, "folder": str(job.folder), "instrument": record.name})
