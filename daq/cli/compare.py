"""neckform compare: what the strings do to the neck."""

from __future__ import annotations

import typer

from daq.cli.desk import AsJson, JobName, desk
from daq.documents.compare import compare_document
from daq.documents.repeats import repeats_document
from daq.documents.rod import rod_part_document
from daq.reading.job import both_states
from daq.reading.reader import JobReader
from daq.text.compare import print_compare
from daq.text.repeats import print_repeats
from daq.text.rod_words import rod_part_sentence


def register(app: typer.Typer) -> None:
    """Adds this command to the program."""
    app.command("compare")(compare)


def compare(context: typer.Context, name: JobName, as_json: AsJson = False) -> None:
    """Strung against unstrung: how the neck moves under its strings."""
    at = desk(context, as_json=as_json)
    both = both_states(JobReader(at.workshop, at.workshop.job(name)))
    shapes = (both.strung_then, both.paired)
    for caution in filter(None, (both.strung_scan.caution, both.paired_scan.caution)):
        at.warn(caution)
    part = both.rod_part
    if part is not None:
        scans = (both.strung_scan.scan.path.name, both.paired_scan.scan.path.name)
        at.warn(rod_part_sentence(*scans, part))
    repeats = {"strung": both.strung_scan.repeats, "unstrung": both.paired_scan.repeats}
    print_repeats(at.out, repeats)
    print_compare(at.out, *shapes, both.field, both.instrument, both.findings)
    at.answer(
        {
            **compare_document(*shapes, both.field, both.instrument, both.findings),
            "rod": None if part is None else rod_part_document(part),
            "repeats": {state: repeats_document(one) for state, one in repeats.items()},
        }
    )
