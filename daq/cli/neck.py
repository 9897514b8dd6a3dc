"""neckform tops, compare: what shape the neck has."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from analysis.instrument import Instrument
from analysis.neck.across import across_of
from analysis.neck.along import along_of
from analysis.neck.loose import loose_frets
from analysis.neck.shape import Shape, strung_shape, unstrung_shape
from analysis.neck.wear import wear_of
from daq.cli.desk import AsJson, Desk, desk
from daq.documents.across import across_document
from daq.documents.along import along_document
from daq.documents.budget import budget_document
from daq.documents.compare import compare_document
from daq.documents.repeats import repeats_document
from daq.documents.tops import tops_document
from daq.documents.wear import loose_document, wear_document
from daq.errors import InputError
from daq.files.instrument import load_instrument
from daq.reading.budget import budgets_of
from daq.reading.job import both_states, job_shape
from daq.reading.lanes import what_is_missing
from daq.reading.neck import read_scan_neck, rig_of
from daq.reading.probe import tip_of
from daq.reading.reader import JobReader
from daq.reading.repeats import CombinedScan, combined_scan
from daq.record.scan import read_scan
from daq.steps.scan import checked_state
from daq.text.across import print_across
from daq.text.along import print_along
from daq.text.budget import print_budget
from daq.text.compare import print_compare
from daq.text.console import say
from daq.text.heights import print_heights
from daq.text.repeats import print_repeats
from daq.text.summary import print_relief
from daq.text.wear import print_loose, print_wear


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
    told = (what_is_missing(read.scan, record), read.caution, shape.remark)
    cautions = [one for one in told if one]
    for caution in cautions:
        at.warn(caution)
    print_repeats(at.out, {shape.state: read.repeats})
    print_heights(at.out, shape)
    # wear hides under the strings
    wear = wear_of(read.neck, record) if shape.state == "unstrung" else None
    if wear is not None:
        print_wear(at.out, wear, tip_of(rig_of(read.scan), read.calibrations.probe))
    loose = loose_frets(read.neck)
    print_loose(at.out, loose)
    print_relief(at.out, shape, record)
    along, across = along_of(shape, record), across_of(read.neck)
    print_along(at.out, along, shape, record)
    print_across(at.out, across, shape, record)
    more = {}
    if budget:
        budgets = budgets_of(shape, read.scan, store)
        print_budget(at.out, budgets)
        more["budget"] = budget_document(budgets)
    for line in read.calibrations.described:
        say(at.out, line, "dim")
    at.answer(
        {
            **tops_document(job_name, read.scan.path.name, shape, record),
            "calibrations": list(read.calibrations.described),
            "caution": "; ".join(cautions) or None,
            "repeats": repeats_document(read.repeats),
            "wear": None if wear is None else wear_document(wear),
            "loose": loose_document(loose),
            "along": along_document(along),
            "across": across_document(across, shape),
            **more,
        }
    )


def _of_job(
    at: Desk, name: str, state: str | None, instrument: Path | None
) -> tuple[Shape, CombinedScan, Instrument]:
    if instrument is not None:
        raise InputError("--instrument: a job has its own instrument file; leave the option out")
    if state is None:
        raise InputError("--state: missing; allowed strung or unstrung")
    job = at.workshop.job(name)
    shape, read = job_shape(JobReader(at.workshop, job), checked_state(state))
    return shape, read, job.instrument().record


def _of_file(
    path: Path, state: str | None, instrument: Path | None
) -> tuple[Shape, CombinedScan, Instrument]:
    scan = read_scan(path)
    if instrument is None:
        raise InputError(f"{path}: --instrument FILE.yaml is missing; a scan file needs it")
    record = load_instrument(instrument).record
    wanted = None if state is None else checked_state(state)
    read = combined_scan([read_scan_neck(scan, record, None)], record)
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
    both = both_states(JobReader(at.workshop, at.workshop.job(name)))
    shapes = (both.strung_then, both.paired)
    for caution in filter(None, (both.strung_scan.caution, both.paired_scan.caution)):
        at.warn(caution)
    repeats = {"strung": both.strung_scan.repeats, "unstrung": both.paired_scan.repeats}
    print_repeats(at.out, repeats)
    print_compare(at.out, *shapes, both.field, both.instrument, both.findings)
    at.answer(
        {
            **compare_document(*shapes, both.field, both.instrument, both.findings),
            "repeats": {state: repeats_document(one) for state, one in repeats.items()},
        }
    )
