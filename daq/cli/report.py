"""neckform report: the record of a job for the customer, or the cut sheet for the bench."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from daq.cli.desk import AsJson, JobName, desk
from daq.steps.reporting import write_report, write_sheet
from daq.text.console import say

Sheet = Annotated[bool, typer.Option("--sheet", help="The cut sheet alone, to take to the bench.")]
To = Annotated[
    Path | None, typer.Option("--to", metavar="FILE", help="Where to write it; else in the job.")
]


def register(app: typer.Typer) -> None:
    """Adds this command to the program."""
    app.command("report")(report)


def report(
    context: typer.Context,
    name: JobName,
    sheet: Sheet = False,
    to: To = None,
    as_json: AsJson = False,
) -> None:
    """The job's report: one HTML file that needs no network."""
    at = desk(context, as_json=as_json)
    job = at.workshop.job(name)
    if sheet:
        path = write_sheet(at.workshop, job, to)
        say(at.out, f"The cut sheet is {path}; open it in a browser and print it.")
    else:
        path = write_report(at.workshop, job, to)
        say(at.out, f"The report is {path}; open it in a browser, or print it.")
    at.answer({"job": name, "sheet" if sheet else "report": str(path)})
