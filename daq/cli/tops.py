"""neckform tops: what shape the neck has."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from analysis.neck.shape import strung_shape, unstrung_shape
from daq.cli.desk import AsJson, Desk, desk
from daq.documents.budget import budget_document
from daq.documents.measured import measured_document
from daq.errors import InputError
from daq.files.instrument import load_instrument
from daq.reading.budget import budgets_of
from daq.reading.job import job_shape
from daq.reading.lanes import what_is_missing
from daq.reading.measured import Measured, measured
from daq.reading.neck import read_scan_neck, rig_of
from daq.reading.reader import JobReader
from daq.reading.repeats import combined_scan
from daq.record.scan import read_scan
from daq.steps.scan import checked_state
from daq.text.budget import print_budget
from daq.text.console import say
from daq.text.measured import print_measured


def register(app: typer.Typer) -> None:
    """Adds this command to the program."""
    app.command("tops")(tops)


def tops(
    context: typer.Context,
    name: Annotated[str, typer.Argument(metavar="NAME | SCAN.h5", help="A job, or a scan file.")],
    state: Annotated[str | None, typer.Option("--state", help="strung or unstrung.")] = None,
    instrument: Annotated[
        Path | None, typer.Option("--instrument", help="The instrument file, for a scan file.")
    ] = None,
    budget: Annotated[
        bool, typer.Option("--budget", help="Say where the uncertainty comes from.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Fret tops, relief, twist and radius from the latest scans of a state."""
    at = desk(context, as_json=as_json)
    if name.endswith(".h5"):
        found = _of_file(Path(name), state, instrument)
        job, store = found.read.scan.job or None, None
    else:
        found = _of_job(at, name, state, instrument)
        job, store = name, at.workshop.calibrations(rig_of(found.read.scan).name)
    read = found.read
    told = (what_is_missing(read.scan, found.instrument), read.caution, found.shape.remark)
    cautions = [one for one in told if one]
    for caution in cautions:
        at.warn(caution)
    print_measured(at.out, found)
    document = {**measured_document(job, found), "caution": "; ".join(cautions) or None}
    if budget:
        budgets = budgets_of(found.shape, read.scan, store)
        print_budget(at.out, budgets)
        document["budget"] = budget_document(budgets)
    for line in read.calibrations.described:
        say(at.out, line, "dim")
    at.answer(document)


def _of_job(at: Desk, name: str, state: str | None, instrument: Path | None) -> Measured:
    if instrument is not None:
        raise InputError("--instrument: a job has its own instrument file; leave the option out")
    if state is None:
        raise InputError("--state: missing; allowed strung or unstrung")
    job = at.workshop.job(name)
    shape, read = job_shape(JobReader(at.workshop, job), checked_state(state))
    return measured(job.instrument().record, shape, read)


def _of_file(path: Path, state: str | None, instrument: Path | None) -> Measured:
    scan = read_scan(path)
    if instrument is None:
        raise InputError(f"{path}: --instrument FILE.yaml is missing; a scan file needs it")
    record = load_instrument(instrument).record
    wanted = None if state is None else checked_state(state)
    read = combined_scan([read_scan_neck(scan, record, None)], record)
    if wanted is not None and wanted != scan.state:
        raise InputError(f"{path}: found {scan.state}; allowed --state {scan.state}, or none")
    of = strung_shape if scan.state == "strung" else unstrung_shape
    return measured(record, of(read.neck, record), read)
