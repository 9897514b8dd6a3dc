"""Indexing while it goes on: a bar where there is a terminal, nothing where there is none."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn


@contextmanager
def index_progress(console: Console) -> Iterator[Callable[[int, int], None] | None]:
    """What to tell how many files of how many were opened."""
    if not console.is_terminal:
        yield None
        return
    columns = (TextColumn("opened"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=console, transient=True) as bar:
        task = bar.add_task("", total=None)

        def tell(done: int, total: int) -> None:
            bar.update(task, completed=done, total=total)

        yield tell
