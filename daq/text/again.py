"""Scans read again, and what changed, in words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TextIO

from rich.console import Console

from daq.archive.again import Again
from daq.archive.changes import Change, Moved, Summary
from daq.text.console import bullets, heading, say
from daq.text.grid import plain_table
from daq.text.words import counted, fixed

#: So many faults or scans are named; the rest are counted.
MOST_NAMED = 20
_FAULTS = {
    "file": "could not be opened or is damaged",
    "neck": "does not show the neck it should",
    "program": "is beyond this program",
    "killed": "ended the process that read it",
}
_KINDS = {
    "lost": "could be read before, and no longer",
    "found": "could not be read before, and now can",
    "other": "read with another number of frets or strings",
    "beyond": "changed by more than is uncertain",
    "within": "changed by less than is uncertain",
    "same": "the same to the last digit",
    "fault": "could be read neither time",
    "first": "read for the first time",
}


class AgainProgress:
    """One line that moves on a terminal, elsewhere a line for each tenth. It has no thread of its
    own, so that worker processes may be forked beside it."""

    def __init__(self, stream: TextIO) -> None:
        self._stream, self._moves = stream, stream.isatty()
        self._scans, self._told = 0, -1

    def begin(self, scans: int) -> None:
        """So many scans are looked at."""
        self._scans = scans

    def moved(self, done: int, faults: int) -> None:
        """So many of them are done with."""
        share = 1000 if self._moves else 10
        told = share * done // max(self._scans, 1)
        if told == self._told:
            return
        self._told = told
        line = f"{done} of {counted(self._scans, 'scan')}, {counted(faults, 'fault')}"
        end = "\n" if not self._moves or done == self._scans else ""
        self._stream.write(f"\r{line}\033[K{end}" if self._moves else f"{line}{end}")
        self._stream.flush()


def print_again(console: Console, came: Again) -> None:
    """Counts, then the faults by name."""
    say(console, f"Read {counted(came.read, 'scan')}.")
    if came.already:
        say(console, f"{counted(came.already, 'scan')} had been read this way before.")
    if came.duplicates:
        say(console, f"{counted(came.duplicates, 'duplicate')} left out: read where first found.")
    for kind, count in sorted(came.kinds.items()):
        say(console, f"{counted(count, 'scan')}: each {_FAULTS[kind]}.")
    bullets(console, came.faults[:MOST_NAMED])
    _more(console, len(came.faults))


def print_changes(console: Console, grave: Sequence[Change], summary: Summary) -> None:
    """How many of each kind, how much, and the scans that changed beyond uncertainty."""
    if not summary.kinds:
        say(console, "No scan was read yet; begin with: neckform archive again")
        return
    for kind, count in summary.kinds.items():
        say(console, f"{counted(count, 'scan')} {_KINDS[kind]}")
    for name, sizes in (("Relief", summary.relief_um), ("The top most off", summary.tops_um)):
        if sizes is not None:
            median, largest = (fixed(size, 2) for size in sizes)
            say(console, f"{name} moved by {median} µm in the median scan, {largest} at most.")
    if not grave:
        return
    heading(console, "Changed: now minus then, ± twice its standard uncertainty, µm")
    table = plain_table(["scan", "what", "relief", "top", "dent"])
    table.columns[0].justify = table.columns[1].justify = "left"
    table.columns[0].no_wrap, table.columns[0].overflow = False, "fold"
    for one in grave[:MOST_NAMED]:
        table.add_row(one.url, one.kind, _size(one.relief), _size(one.tops), _size(one.dents))
    console.print(table)
    _more(console, len(grave))


def _size(one: Moved | None) -> str:
    return "-" if one is None else f"{fixed(one.by_um, 1)} ± {fixed(2.0 * one.u_um, 1)}"


def _more(console: Console, count: int) -> None:
    if count > MOST_NAMED:
        say(console, f"and {count - MOST_NAMED} more: --json has all of them", "dim")
