"""The archive in a terminal: what indexing came to, and what a search found."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table

from daq.archive.rows import ScanRow
from daq.archive.search import Found
from daq.text.console import bullets, heading, say
from daq.text.words import counted

if TYPE_CHECKING:  # a search has no use for what reads scan files
    from daq.archive.index import Indexed

#: Files with a fault, or copies, that are named after indexing.
_NAMED = 12
_COLUMNS = ("state", "job", "instrument", "rig")


def print_indexed(console: Console, indexed: Indexed) -> None:
    """Counts, then each file that cannot be read and each copy."""
    say(
        console,
        f"{counted(indexed.found, 'file')} found, {indexed.opened} new or changed and opened, "
        f"{indexed.gone} gone and taken out.",
    )
    said = f"{counted(indexed.scans, 'scan')} of necks, {indexed.others} of a rig alone"
    faults = ", ".join(f"{count} {kind}" for kind, count in indexed.faults.items())
    said += f"; cannot be read: {faults}" if faults else ""
    copies = len(indexed.duplicates)
    said += f"; {copies} of them {'is a copy' if copies == 1 else 'are copies'}" if copies else ""
    say(console, f"{said}.")
    _named(console, "Cannot be read", [f"{row.url}: {row.fault}" for row in indexed.faulty],
           "neckform archive find --faulty")  # fmt: skip
    _named(console, "Copies of another scan",
           [f"{row.url}: is {row.duplicate_of}" for row in indexed.duplicates],
           "--json")  # fmt: skip


def _named(console: Console, title: str, lines: list[str], more: str) -> None:
    if not lines:
        return
    heading(console, title)
    bullets(console, lines[:_NAMED])
    if len(lines) > _NAMED:
        say(console, f"and {len(lines) - _NAMED} more; {more} names them all", "dim")


def print_found(console: Console, found: Found) -> None:
    """A table of scans, newest first; then the files that cannot be read."""
    if not found.rows:
        say(console, "Nothing in the archive fits.")
        return
    whole = [row for row in found.rows if row.fault is None]
    broken = [row for row in found.rows if row.fault is not None]
    if whole:
        _print_scans(console, whole)
    if broken:
        heading(console, "Cannot be read")
        bullets(console, [f"{row.url}: {row.fault}" for row in broken])
    shown = len(found.rows)
    more = f", the newest {shown} shown; --limit shows more" if shown < found.count else ""
    say(console, f"{counted(found.count, 'file')} fit{'s' * (found.count == 1)}{more}.", "dim")


def _print_scans(console: Console, rows: Sequence[ScanRow]) -> None:
    """What all rows have alike is told once, under the table: files' names need the room."""
    under = common_folder([row.url for row in rows])
    columns = {
        "made, UTC": [minute(row.made) for row in rows],
        **{name: [getattr(row, name) or "-" for row in rows] for name in _COLUMNS},
    }
    alike = {name: cells[0] for name, cells in columns.items() if _same(cells)}
    table = Table(box=SIMPLE_HEAD, show_edge=False, pad_edge=False, header_style="bold")
    shown = {name: cells for name, cells in columns.items() if name not in alike}
    for name in shown:
        table.add_column(name, no_wrap=name == "made, UTC")
    table.add_column("file", overflow="fold")
    files = [f"{row.url.removeprefix(under)}{_copy(row)}" for row in rows]
    for cells in zip(*shown.values(), files, strict=True):
        table.add_row(*cells)
    console.print(table)
    told = ", ".join(f"{name} {value}" for name, value in alike.items() if value != "-")
    below = [f"all: {told}"] * bool(told) + [f"files are in {under}"] * bool(under)
    say(console, "; ".join(below), "dim")


def _same(cells: Sequence[str]) -> bool:
    return len(cells) > 1 and len(set(cells)) == 1


def _copy(row: ScanRow) -> str:
    return " (copy)" if row.duplicate_of is not None else ""


def common_folder(urls: Sequence[str]) -> str:
    """The longest folder that all lie in, its slash with it; empty where there is none."""
    parts = [url.split("/")[:-1] for url in urls]
    alike = []
    for steps in zip(*parts, strict=False):
        if len(set(steps)) > 1:
            break
        alike.append(steps[0])
    return "".join(f"{step}/" for step in alike)


def minute(made: str | None) -> str:
    """2024-05-03 14:02."""
    return "-" if made is None else made[:16].replace("T", " ")
