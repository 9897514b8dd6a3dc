"""neckform archive index, find, years: the scans there are, searched, told over years.

What a command works with is imported when it runs: a search must not wait for what indexing needs.
"""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from daq.cli.archive import ArchiveFile, Workers, archive_path
from daq.cli.desk import AsJson, desk
from daq.errors import FileError, InputError


def register(app: typer.Typer) -> None:
    """Adds these commands to the group."""
    app.command("index")(index)
    app.command("find")(find)
    app.command("years")(years)


def index(
    context: typer.Context,
    folders: Annotated[
        list[str],
        typer.Argument(metavar="FOLDER", help="Folders, or URLs of them: s3://bucket/scans."),
    ],
    file: ArchiveFile = None,
    workers: Workers = None,
    as_json: AsJson = False,
) -> None:
    """Take in every scan under these folders; what is known and unchanged is not opened again.

    Nothing under them is written to. A file that cannot be read is named and counted; a folder
    that cannot be listed is named at the end, and what the archive knew of it stays.
    """
    from daq.archive.database import archive
    from daq.archive.engines.pool import cores
    from daq.archive.index import index as take_in
    from daq.documents.archive import indexed_document
    from daq.text.archive import print_indexed
    from daq.text.archive_progress import index_progress

    at = desk(context, as_json=as_json)
    if "" in folders:
        raise InputError("FOLDER: found nothing; allowed a folder, or the URL of one")
    path = archive_path(at, file)
    with archive(path) as db, index_progress(at.aside) as tell:
        indexed = take_in(db, folders, tell, workers or cores())
    print_indexed(at.out, indexed)
    at.answer(indexed_document(indexed, str(path)))
    if indexed.not_listed:
        raise FileError(
            "\n".join(f"{one.url}: not indexed: {one.why}" for one in indexed.not_listed)
        )


def find(
    context: typer.Context,
    words: Annotated[
        list[str] | None,
        typer.Argument(metavar="WORDS", help="Words, all of which stand somewhere in it."),
    ] = None,
    job: Annotated[str | None, typer.Option("--job", help="Of this job.")] = None,
    instrument: Annotated[
        str | None, typer.Option("--instrument", help="Of the instrument of this name.")
    ] = None,
    state: Annotated[str | None, typer.Option("--state", help="strung or unstrung.")] = None,
    rig: Annotated[str | None, typer.Option("--rig", help="Made on the rig of this name.")] = None,
    since: Annotated[
        str | None,
        typer.Option("--from", metavar="DATE", help="2024, 2024-05 or 2024-05-17, or later."),
    ] = None,
    until: Annotated[
        str | None,
        typer.Option("--to", metavar="DATE", help="The same, or earlier; its last day counts."),
    ] = None,
    faulty: Annotated[
        bool | None,
        typer.Option("--faulty/--whole", help="Only what cannot be read, or only what can."),
    ] = None,
    limit: Annotated[int, typer.Option("--limit", min=1, help="Show no more than so many.")] = 50,
    file: ArchiveFile = None,
    as_json: AsJson = False,
) -> None:
    """Search the archive by any of these at once, newest first; case does not matter."""
    from daq.archive.database import archive
    from daq.archive.search import Query, search
    from daq.documents.archive import found_document
    from daq.text.archive import print_found
    from daq.workshop.job import STATES

    at = desk(context, as_json=as_json)
    if state is not None and state not in STATES:
        raise InputError(f"--state: found {state!r}; allowed {' or '.join(STATES)}")
    query = Query(
        words=tuple(_text(word, "words") for word in words or ()),
        job=_given(job, "--job"),
        instrument=_given(instrument, "--instrument"),
        state=state,
        rig=_given(rig, "--rig"),
        since=_day(since, "--from"),
        until=_day(until, "--to"),
        faulty=faulty,
        limit=limit,
    )
    with archive(archive_path(at, file), there=True) as db:
        found = search(db, query)
    print_found(at.out, found)
    at.answer(found_document(found))


def years(
    context: typer.Context,
    instrument: Annotated[
        str | None, typer.Option("--instrument", help="Relief and wear of this instrument.")
    ] = None,
    rig: Annotated[
        str | None, typer.Option("--rig", help="Noise, losses and damage of this rig.")
    ] = None,
    to: Annotated[
        Path | None,
        typer.Option("--to", metavar="FILE.html", help="Pictures of it too, one HTML file."),
    ] = None,
    file: ArchiveFile = None,
    as_json: AsJson = False,
) -> None:
    """How an instrument wears, or how well a rig has been, over all the years archived."""
    from daq.cli.archive_years import told_instrument, told_rig

    at = desk(context, as_json=as_json)
    path = archive_path(at, file)
    if (instrument is None) == (rig is None):
        found = "neither" if instrument is None else "both"
        raise InputError(f"--instrument, --rig: found {found}; allowed one of them")
    if instrument is not None:
        told_instrument(at, path, _text(instrument, "--instrument"), to)
    else:
        told_rig(at, path, _text(str(rig), "--rig"), to)


def _day(given: str | None, option: str) -> str | None:
    """A date or the beginning of one. Raises InputError."""
    if given is None:
        return None
    parts = re.fullmatch(r"(\d{4})(?:-(\d{2})(?:-(\d{2}))?)?", given)
    try:
        if parts is None:
            raise ValueError
        date(int(parts[1]), int(parts[2] or 1), int(parts[3] or 1))
    except ValueError:
        raise InputError(
            f"{option}: found {given!r}; allowed a date: 2024, 2024-05 or 2024-05-17"
        ) from None
    return given


def _given(text: str | None, option: str) -> str | None:
    return None if text is None else _text(text, option)


def _text(text: str, option: str) -> str:
    """What a terminal passed on that is no text cannot be looked for. Raises InputError."""
    try:
        text.encode()
    except UnicodeEncodeError:
        raise InputError(f"{option}: found {text!r}; allowed text") from None
    return text
