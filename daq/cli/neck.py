"""neckform tops, compare: what shape the neck has."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from analysis.instrument import Instrument
from analysis.neck.shape import Shape, strung_shape, unstrung_shape
from daq.cli.desk import AsJson, Desk, desk
from daq.documents.budget import budget_document
from daq.documents.compare import compare_document
from daq.documents.tops import tops_document
from daq.errors import InputError
from daq.files.instrument import load_instrument
from daq.reading.budget import budgets_of
from daq.reading.job import both_states, job_shape
from daq.reading.lanes import what_is_missing
from daq.reading.neck import ReadScan, read_scan_neck, rig_of
from daq.record.scan import read_scan
from daq.steps.scan import checked_state
from daq.text.budget import print_budget
from daq.text.compare import print_compare
from daq.text.console import say
from daq.text.heights import print_heights
from daq.text.summary import print_tops_summary


def register(app: typer.Typer) -> None:
    """Adds these commands to the program."""
    app.command("tops")(tops)
    app.command("compare")(compare)


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
    """Fret tops, relief, twist and radius from the latest scan of a state."""
    at = desk(context, as_json=as_json)
    if name.endswith(".h5"):
        shape, read, record = _of_file(Path(name), state, instrument)
        job_name, store = read.scan.job or None, None
    else:
        shape, read, record = _of_job(at, name, state, instrument)
        job_name, store = name, at.workshop.calibrations(rig_of(read.scan).name)
    missing = what_is_missing(read.scan, record)
    if missing is not None:
        at.warn(missing)
    print_heights(at.out, shape)
    print_tops_summary(at.out, shape, record)
    more = {}
    if budget:
        budgets = budgets_of(shape, record, read.scan, store)
        print_budget(at.out, budgets)
        more["budget"] = budget_document(budgets)
    for line in read.calibrations.described:
        say(at.out, line, "dim")
    at.answer(
        {
            **tops_document(job_name, read.scan.path.name, shape, record),
            "calibrations": list(read.calibrations.described),
            "caution": missing,
            **more,
        }
    )


def _of_job(
    at: Desk, name: str, state: str | None, instrument: Path | None
) -> tuple[Shape, ReadScan, Instrument]:
    if instrument is not None:
        raise InputError("--instrument: a job has its own instrument file; leave the option out")
    if state is None:
        raise InputError("--state: missing; allowed strung or unstrung")
    job = at.workshop.job(name)
    shape, read = job_shape(at.workshop, job, checked_state(state))
    return shape, read, job.instrument().record


def _of_file(
    path: Path, state: str | None, instrument: Path | None
) -> tuple[Shape, ReadScan, Instrument]:
    scan = read_scan(path)
    if instrument is None:
        raise InputError(f"{path}: --instrument FILE.yaml is missing; a scan file needs it")
    record = load_instrument(instrument).record
    wanted = None if state is None else checked_state(state)
    read = read_scan_neck(scan, record, None)
    if wanted is not None and wanted != scan.state:
        raise InputError(f"{path}: found {scan.state}; allowed --state {scan.state}, or none")
    of = strung_shape if scan.state == "strung" else unstrung_shape
    return of(read.neck, record), read, record


def compare(
    context: typer.Context,
    name: Annotated[str, typer.Argument(metavar="NAME", help="The job's name.")],
    as_json: AsJson = False,
) -> None:
    """Strung against unstrung: how the neck moves under its strings."""
    at = desk(context, as_json=as_json)
    both = both_states(at.workshop, at.workshop.job(name))
    shapes = (both.strung_then, both.paired)
    print_compare(at.out, *shapes, both.field, both.instrument, both.findings)
    at.answer(compare_document(*shapes, both.field, both.instrument, both.findings))
