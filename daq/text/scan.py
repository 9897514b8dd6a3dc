"""Scans made, replayed or recovered, in words."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console

from daq.record.recover import Recovered
from daq.record.scan import Scan
from daq.text.console import say
from daq.text.words import counted


def print_scan(console: Console, scan: Scan) -> None:
    """One line on what is in a scan file."""
    good = sum(one.good for one in scan.passes)
    samples = sum(len(one.samples) for one in scan.passes)
    lost = sum(one.lost for one in scan.passes)
    damaged = sum(one.bad_frames for one in scan.passes)
    ended = "" if scan.end == "done" else f" The scan is {scan.end}: {scan.why or 'cut off'}."
    say(
        console,
        f"{scan.path}: {good} of {counted(len(scan.passes), 'pass')} good, {samples} samples, "
        f"{lost} lost, {damaged} damaged frames.{ended}",
    )


def print_recovered(console: Console, found: Sequence[Recovered]) -> None:
    """A line for each journal, or that there was none."""
    if not found:
        say(console, "Nothing was left behind: there is no journal to recover.")
    for one in found:
        if one.scan is None:
            say(console, f"{one.journal}: not recovered: {one.why}", "yellow")
        else:
            print_scan(console, one.scan)
