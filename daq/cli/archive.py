"""neckform archive: a workshop's whole history."""

from __future__ import annotations

import typer

from daq.cli.lazy import lazily

app = typer.Typer(
    cls=lazily({"again": "daq.cli.archive_again", "changes": "daq.cli.archive_again"}),
    help="Every scan there is: found, searched, read again.",
)


def register(program: typer.Typer) -> None:
    """Adds these commands to the program."""
    program.add_typer(app, name="archive")


@app.callback()
def _group() -> None:
    """Every scan there is: found, searched, read again."""
