"""Tables of frets down and strings across that fit the console."""

from __future__ import annotations

from collections.abc import Sequence

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text


def plain_table(headers: Sequence[str]) -> Table:
    """An empty table, numbers to the right, no frame."""
    table = Table(box=SIMPLE_HEAD, show_edge=False, pad_edge=False, header_style="bold")
    for header in headers:
        table.add_column(header, justify="right", no_wrap=True)
    return table


def print_grid(
    console: Console, corner: str, rows: Sequence[str], cells: Sequence[Sequence[Text]]
) -> None:
    """One row a fret, one column a string; more than one table where they do not fit.

    cells: [rows][strings]; columns are numbered from string 1.
    """
    strings = len(cells[0]) if cells else 0
    widest = max((cell.cell_len for row in cells for cell in row), default=1)
    first = max([len(corner), *(len(row) for row in rows)])
    widest = max(widest, len(str(strings)))
    gap = 2 if first + strings * (widest + 2) <= console.width else 1
    room = max(1, (console.width - first) // (widest + gap))
    for start in range(0, strings, room):
        chosen = range(start, min(start + room, strings))
        console.print(_table(corner, rows, cells, chosen, gap))


def _table(
    corner: str, rows: Sequence[str], cells: Sequence[Sequence[Text]], chosen: range, gap: int
) -> Table:
    table = plain_table([corner, *(str(string + 1) for string in chosen)])
    # the frame's own divider is one blank already
    table.padding = (0, gap - 1, 0, 0)
    for name, row in zip(rows, cells, strict=True):
        table.add_row(name, *(row[string] for string in chosen))
    return table
