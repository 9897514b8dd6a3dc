"""neckform scan, replay, recover: recordings and their bytes."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from daq.cli.desk import AsJson, JobName, RigPath, Yes, desk
from daq.documents.scan import recovered_document, scan_document
from daq.errors import FileError, InputError
from daq.files.rig import load_rig
from daq.reading.settings import rod_setting
from daq.record.raw import records_of
from daq.record.recover import Recovered
from daq.record.recover import recover as recover_folder
from daq.record.scan import read_scan
from daq.record.scanfile import build_scan
from daq.steps.scan import Asked, checked_state, scan_neck
from daq.text.cautions import caution_before_motion, caution_rod, caution_strings
from daq.text.console import say
from daq.text.rod_words import setting_sentence
from daq.text.scan import print_recovered, print_scan


def register(app: typer.Typer) -> None:
    """Adds these commands to the program."""
    app.command("scan")(scan)
    app.command("replay")(replay)
    app.command("recover")(recover)


def scan(
    context: typer.Context,
    name: JobName,
    rig: RigPath,
    state: Annotated[str, typer.Option("--state", help="strung or unstrung.")],
    label: Annotated[str, typer.Option("--label", help="A few words for the file's name.")] = "",
    rod: Annotated[
        float | None,
        typer.Option(
            "--rod",
            metavar="TURNS",
            help="Where the truss rod stands: turns from where it stood when the job was opened, "
            "tightening positive. Else as in the latest scan.",
        ),
    ] = None,
    as_json: AsJson = False,
    yes: Yes = False,
) -> None:
    """Scan every lane of one state, both ways, into the job."""
    at = desk(context, as_json=as_json, yes=yes)
    checked_state(state)
    job, rig_file = at.workshop.job(name), load_rig(rig)
    setting = rod_setting(job, rod)
    say(at.aside, caution_before_motion(), "dim")
    if state == "strung":
        say(at.aside, caution_strings(), "dim")
    elif setting.changed:
        say(at.aside, caution_rod(), "dim")
    asked = Asked(state, label, setting)
    made = scan_neck(at.workshop, job, rig_file, asked, at.operator(rig_file))
    print_scan(at.out, made.scan)
    say(at.out, setting_sentence(setting))
    if made.caution is not None:
        at.warn(made.caution)
    taken = None if setting.taken_from is None else setting.taken_from.name
    at.answer({**scan_document(made.scan), "rod_taken_from": taken, "caution": made.caution})


def replay(
    context: typer.Context,
    scan_file: Annotated[Path, typer.Argument(metavar="SCAN.h5", help="A recorded scan.")],
    to: Annotated[Path, typer.Option("--to", metavar="FILE.h5", help="The new scan file.")],
    as_json: AsJson = False,
) -> None:
    """Feed a scan's recorded bytes through the decode path again."""
    at = desk(context, as_json=as_json)
    read_scan(scan_file)
    if to.exists():
        raise InputError(f"{to}: is already there; a scan is never written over")
    build_scan(records_of(scan_file), to)
    made = read_scan(to)
    print_scan(at.out, made)
    at.answer(scan_document(made))


def recover(
    context: typer.Context,
    folder: Annotated[
        Path | None, typer.Argument(metavar="DIR", help="Where to look; else the workshop.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Turn what an interrupted scan left behind into a scan file."""
    at = desk(context, as_json=as_json)
    found = recover_folder(folder if folder is not None else at.workshop.root)
    failed = [one for one in found if one.scan is None]
    if len(failed) < len(found) or not found:
        print_recovered(at.out, [one for one in found if one.scan is not None])
    at.answer(recovered_document(found))
    if failed:
        raise FileError("\n".join(_why_not(one) for one in failed))


def _why_not(one: Recovered) -> str:
    named = str(one.journal) in one.why
    return f"not recovered: {one.why}" if named else f"{one.journal}: not recovered: {one.why}"
