"""neckform rod: what the truss rod does on this neck."""

from __future__ import annotations

import typer

from daq.cli.desk import AsJson, JobName, desk
from daq.documents.rod import rod_document
from daq.reading.reader import JobReader
from daq.reading.rod import job_rod
from daq.text.rod import not_learnt_line, print_rod


def register(app: typer.Typer) -> None:
    """Adds this command to the program."""
    app.command("rod")(rod)


def rod(context: typer.Context, name: JobName, as_json: AsJson = False) -> None:
    """What the truss rod does on this neck, by scans at two settings of it."""
    at = desk(context, as_json=as_json)
    job = at.workshop.job(name)
    found = job_rod(JobReader(at.workshop, job))
    best = found.best
    if best is not None:
        print_rod(at.out, found, best, job.instrument().record)
        for why in found.why_not:
            at.warn(why)
    else:
        at.warn(not_learnt_line(name, found))
    for doubt in found.doubts:
        at.warn(doubt)
    at.answer(rod_document(name, found))
    if best is None:
        raise typer.Exit(1)
