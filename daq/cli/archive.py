"""neckform archive: a workshop's whole history."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from daq.cli.lazy import Later, lazily

if TYPE_CHECKING:  # the help page has no use for it
    from daq.cli.desk import Desk

COMMANDS = {
    "index": Later(
        "daq.cli.archive_scans",
        "Take in every scan under these folders; what is known and unchanged is not opened again.",
    ),
    "find": Later(
        "daq.cli.archive_scans",
        "Search the archive by any of these at once, newest first; case does not matter.",
    ),
    "years": Later(
        "daq.cli.archive_scans",
        "How an instrument wears, or how well a rig has been, over all the years archived.",
    ),
    "again": Later(
        "daq.cli.archive_again",
        "Read every scan of the archive again, with today's calibrations and methods.",
    ),
    "changes": Later(
        "daq.cli.archive_again",
        "What changed since each scan was read before: relief, wear and tops beyond uncertainty.",
    ),
}
SAYS = "Every scan under any folders: indexed, searched, told over years, read again."

ArchiveFile = Annotated[
    Path | None,
    typer.Option("--archive", metavar="FILE", help="The archive; else archive.db in the workshop."),
]

Workers = Annotated[
    int | None, typer.Option("--workers", min=1, max=1024, help="Processes (else one a core).")
]

app = typer.Typer(cls=lazily(COMMANDS), help=SAYS)


def register(program: typer.Typer) -> None:
    """Adds these commands to the program."""
    program.add_typer(app, name="archive")


@app.callback(help=SAYS)
def _group() -> None:
    pass


def archive_path(at: Desk, given: Path | None) -> Path:
    """The archive asked for, else the workshop's."""
    return at.workshop.root / "archive.db" if given is None else given
