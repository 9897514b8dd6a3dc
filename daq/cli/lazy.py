"""Commands that are imported when they are asked for: most need a tenth of the program."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module

import typer
from typer.core import TyperCommand, TyperGroup
from typer.main import get_group


def lazily(modules: Mapping[str, str]) -> type[TyperGroup]:
    """A group of the commands named, each with the module whose `register(app)` adds it.

    The order is that of the help page.
    """

    class Lazy(TyperGroup):
        def list_commands(self, _ctx: object) -> list[str]:
            return list(modules)

        def get_command(self, _ctx: object, name: str) -> TyperCommand | TyperGroup | None:
            module = modules.get(name)
            return None if module is None else _command(module, name)

    return Lazy


def _command(module: str, name: str) -> TyperCommand | TyperGroup | None:
    app = typer.Typer(rich_markup_mode=None)
    app.callback()(lambda: None)
    import_module(module).register(app)
    found = get_group(app).commands.get(name)
    assert isinstance(found, TyperCommand | TyperGroup), f"{module} does not add {name}"
    return found
