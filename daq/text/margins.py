"""Room left under the strings, for each string and fretted position."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.text import Text

from analysis.plan.clearances import Clearance
from daq.text.console import bullets, heading, say
from daq.text.grid import print_grid
from daq.text.words import counted, fixed

MARKS = {"clear": "+", "undecided": "?", "buzzes": "!"}
STYLES = {"clear": "", "undecided": "yellow", "buzzes": "bold red"}
LEGEND = "+ clear   ? undecided within the uncertainty   ! buzzes   - nothing to tell"
#: So many troubled places are told one by one.
TOLD, TOLD_IN_BRIEF = 8, 3


def print_margins(
    console: Console, clearances: Sequence[Clearance], title: str, details: bool
) -> None:
    """With details the straight string's table; how many places are clear; the troubled ones one
    by one."""
    straight = [c for c in clearances if not c.bend]
    bent = [c for c in clearances if c.bend]
    if details:
        unit = "room to spare, hundredths of a mm (fretted down, strings across)"
        heading(console, f"{title}: {unit}")
        _print_table(console, straight)
        say(console, LEGEND, "dim")
    else:
        heading(console, title)
    say(console, tally("Played straight", straight))
    if bent:
        say(console, tally("Bent", bent))
    bullets(console, trouble_sentences(clearances, TOLD if details else TOLD_IN_BRIEF))


def spare_mm(clearance: Clearance) -> float:
    """Clearance over all that the swing needs, without guard."""
    return clearance.clearance_mm - clearance.swing_mm


def tally(name: str, clearances: Sequence[Clearance]) -> str:
    """How many places are clear, undecided, buzzing."""
    counts = {mark: sum(c.verdict == mark for c in clearances) for mark in MARKS}
    if counts["clear"] == len(clearances):
        return f"{name}: all {len(clearances)} places are clear."
    return (
        f"{name}: of {counted(len(clearances), 'place')}, {counts['clear']} clear, "
        f"{counts['undecided']} undecided, {counts['buzzes']} buzzing."
    )


def trouble_sentences(clearances: Sequence[Clearance], told: int = TOLD) -> list[str]:
    """Every place that is not clear, the worst first; after so many, only how many more."""
    trouble = sorted((c for c in clearances if c.verdict != "clear"), key=spare_mm)
    sentences = [_trouble(c) for c in trouble[:told]]
    if len(trouble) > told:
        sentences.append(f"... and {len(trouble) - told} more.")
    return sentences


def position(clearance: Clearance) -> str:
    """String 3 open; String 3 fretted at 5; String 3 bent at 5."""
    if clearance.fretted == 0:
        return f"String {clearance.string} open"
    return f"String {clearance.string} {'bent' if clearance.bend else 'fretted'} at " + str(
        clearance.fretted
    )


def _trouble(c: Clearance) -> str:
    verb = "buzzes" if c.verdict == "buzzes" else "may or may not buzz"
    spare = spare_mm(c)
    said = f"{fixed(abs(spare), 3)} mm {'to spare' if spare >= 0 else 'short'}"
    return f"{position(c)} {verb} over fret {c.worst_at}: {said}, ± {fixed(2 * c.u_mm, 3)} mm."


def _print_table(console: Console, straight: Sequence[Clearance]) -> None:
    by_place = {(c.fretted, c.string): c for c in straight}
    strings = max((c.string for c in straight), default=0)
    fretted = sorted({c.fretted for c in straight})
    cells = [[_cell(by_place.get((f, s))) for s in range(1, strings + 1)] for f in fretted]
    print_grid(console, "at", ["open" if f == 0 else str(f) for f in fretted], cells)


def _cell(clearance: Clearance | None) -> Text:
    if clearance is None:
        return Text("-", style="dim")
    hundredths = fixed(100.0 * spare_mm(clearance), 0)
    return Text(hundredths + MARKS[clearance.verdict], style=STYLES[clearance.verdict])
