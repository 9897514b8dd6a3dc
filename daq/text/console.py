"""Where words and tables go."""

from __future__ import annotations

import sys
from typing import TextIO

from rich.console import Console
from rich.text import Text


def make_console(stream: TextIO | None = None, *, width: int | None = None) -> Console:
    """A console on standard error, or on the stream given.

    Colour only on a terminal and without NO_COLOR; 80 columns where there is no terminal.
    Text is never read as markup: a job may be called [bold].
    """
    return Console(
        file=stream or sys.stderr, width=width, markup=False, emoji=False, highlight=False
    )


def say(console: Console, text: str, style: str = "") -> None:
    """A sentence or a paragraph, wrapped to the console."""
    console.print(Text(text, style=style))


def heading(console: Console, text: str) -> None:
    """A line over what follows, with room before it."""
    console.print()
    say(console, text, "bold")


def bullets(console: Console, lines: list[str]) -> None:
    """Sentences, one beneath another, the second line of each set in."""
    for line in lines:
        wrapped = Text(line).wrap(console, max(console.width - 2, 20))
        for number, part in enumerate(wrapped):
            part.rstrip()
            console.print(Text("- " if number == 0 else "  ") + part)
