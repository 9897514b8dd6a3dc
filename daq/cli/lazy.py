"""Commands that are imported when they are asked for: most need a tenth of the program."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from importlib import import_module
from typing import Any

import typer
from typer.core import TyperCommand, TyperGroup
from typer.main import get_group

Command = TyperCommand | TyperGroup


@dataclass(frozen=True, slots=True)
class Later:
    """A command that is still to be imported.

    module: whose `register(app)` adds it. says: what it does, for the help page: the first
    sentence of its own help, which a test holds it to.
    """

    module: str
    says: str


def lazily(commands: Mapping[str, Later]) -> type[TyperGroup]:
    """A group of the commands named, in the order of the help page, which imports none of them."""

    class Lazy(TyperGroup):
        def __init__(self, **given: Any) -> None:
            super().__init__(**given)
            self.commands = _Imported({name: later.module for name, later in commands.items()})

        def format_commands(self, ctx: Any, formatter: Any) -> None:
            with formatter.section("Commands"):
                formatter.write_dl([(name, later.says) for name, later in commands.items()])

    return Lazy


class _Imported(dict[str, Any]):
    """Commands by name; a module is imported when its command is taken out."""

    def __getitem__(self, name: str) -> Command:
        return _command(super().__getitem__(name), name)

    def get(self, name: str, default: Any = None) -> Any:
        # what click asks by; a dict's own would hand out the module's name
        try:
            return self[name]
        except KeyError:
            return default


def _command(module: str, name: str) -> Command:
    app = typer.Typer(rich_markup_mode=None)
    app.callback()(lambda: None)
    import_module(module).register(app)
    found = get_group(app).commands.get(name)
    assert isinstance(found, Command), f"{module} does not add {name}"
    return found
