"""neckform archive again, changes: every scan read with today's calibrations and methods."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Annotated

import typer

from daq.archive.again import read_again
from daq.archive.changes import changes_of
from daq.archive.database import archive
from daq.archive.engines.engine import Engine
from daq.archive.readings import counted, pairs
from daq.archive.store import whole_url
from daq.cli.archive import ArchiveFile, Workers, archive_path
from daq.cli.desk import AsJson, desk
from daq.documents.again import again_document, changes_document
from daq.errors import InputError
from daq.text.again import AgainProgress, print_again, print_changes
from daq.workshop.store import reason


def register(app: typer.Typer) -> None:
    """Adds these commands to the group."""
    app.command("again")(again)
    app.command("changes")(changes)


def again(
    context: typer.Context,
    folders: Annotated[
        list[str] | None, typer.Argument(metavar="FOLDER", help="Only scans under these.")
    ] = None,
    file: ArchiveFile = None,
    workers: Workers = None,
    scheduler: Annotated[
        str | None,
        typer.Option("--scheduler", metavar="ADDRESS", help="A Dask scheduler, tcp://host:port."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Read every scan of the archive again, with today's calibrations and methods.

    Stop it whenever you like: the next run goes on from there. Scans that were read this very way
    are left alone, and nothing recorded is altered.
    """
    at = desk(context, as_json=as_json)
    if scheduler is not None and workers is not None:
        raise InputError("--workers: a cluster has its own; leave out --workers or --scheduler")
    path = archive_path(at, file)
    under = [_under(folder) for folder in folders or []]
    with archive(path, there=True) as database, _engine(workers, scheduler) as engine:
        if not sum(counted(database, under)):
            where = f" under {' or '.join(under)}" if under else ""
            raise InputError(
                f"archive {path}: has no scan{where}; index them first with: "
                "neckform archive index FOLDER"
            )
        came = read_again(database, engine, under, AgainProgress(sys.stderr))
    print_again(at.out, came)
    at.answer(again_document(str(path), came))


def changes(context: typer.Context, file: ArchiveFile = None, as_json: AsJson = False) -> None:
    """What changed since each scan was read before: relief, wear and tops beyond uncertainty."""
    at = desk(context, as_json=as_json)
    path = archive_path(at, file)
    with archive(path, there=True) as database:
        grave, summary = changes_of(pairs(database))
    print_changes(at.out, grave, summary)
    at.answer(changes_document(str(path), grave, summary))


@contextmanager
def _engine(workers: int | None, scheduler: str | None) -> Iterator[Engine]:
    if scheduler is None:
        from daq.archive.engines.pool import cores
        from daq.archive.engines.readers import readers

        yield readers(workers or cores())
        return
    from daq.archive.engines.cluster import cluster

    with cluster(scheduler) as found:
        yield found


def _under(folder: str) -> str:
    try:
        return whole_url(folder)
    except Exception as error:  # each store's own kinds, a missing library's among them
        raise InputError(f"{folder}: {reason(error)}") from error
