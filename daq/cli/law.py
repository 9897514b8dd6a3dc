"""neckform law: what the workshop has learnt of its tools."""

from __future__ import annotations

from typing import Annotated

import typer

from daq.cli.desk import AsJson, desk
from daq.documents.law import laws_document
from daq.steps.law import chosen_laws
from daq.text.law import print_laws


def register(app: typer.Typer) -> None:
    """Adds this command to the program."""
    app.command("law")(law)


def law(
    context: typer.Context,
    tool: Annotated[str | None, typer.Option("--tool", help="Only this tool.")] = None,
    metal: Annotated[str | None, typer.Option("--metal", help="Only this fret metal.")] = None,
    as_json: AsJson = False,
) -> None:
    """What comes off of what is meant, by tool and fret metal, from all verified cuts."""
    at = desk(context, as_json=as_json)
    laws = chosen_laws(at.workshop, tool, metal)
    print_laws(at.out, laws)
    at.answer(laws_document(laws))
