"""After the cut: planned against achieved, in words."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.text import Text

from analysis.after.law import Law
from analysis.after.verify import Cut
from daq.text.console import heading, say
from daq.text.grid import plain_table
from daq.text.words import counted, fixed, signed

STYLES = {"within": "", "under": "cyan", "over": "bold red", "undecided": "yellow"}
MARKS = {"within": "=", "under": "-", "over": "!", "undecided": "?"}


def print_verify(console: Console, cuts: Sequence[Cut], law: Law | None) -> None:
    """The table, the count of verdicts, the law."""
    heading(console, "Planned against achieved, µm")
    table = plain_table(["fret", "string", "planned", "achieved", "±", "verdict"])
    for cut in cuts:
        table.add_row(*(_row(cut)))
    console.print(table)
    say(console, "±: twice the standard uncertainty", "dim")
    say(console, verdict_counts(cuts))
    say(console, law_sentence(law))


def verdict_counts(cuts: Sequence[Cut]) -> str:
    """How many cuts came out how."""
    counts = {word: sum(cut.verdict == word for cut in cuts) for word in MARKS}
    told = ", ".join(f"{count} {word}" for word, count in counts.items() if count)
    return f"{counted(len(cuts), 'cut')}: {told or 'none planned'}."


def law_sentence(law: Law | None) -> str:
    """What a hand takes off when it means to take something."""
    if law is None:
        return "No removal law yet: it needs at least 3 cuts of different depth."
    return (
        f"Removal law from {counted(law.cuts, 'cut')} in {counted(law.sessions, 'session')}: "
        "what comes off is "
        f"{fixed(law.gain, 2)} ± {fixed(2 * law.u_gain, 2)} of what is planned, "
        f"{signed(law.offset_um, 1)} µm; single cuts scatter by {fixed(law.scatter_um, 1)} µm. "
        "The next plan aims by it, so that 95 of 100 cuts stop short of the plan."
    )


def _row(cut: Cut) -> list[Text]:
    words = f"{cut.verdict} {MARKS[cut.verdict]}"
    return [
        Text(str(cut.fret)),
        Text(str(cut.string)),
        Text(fixed(cut.planned_um, 1)),
        Text(fixed(cut.achieved_um, 1)),
        Text(fixed(2.0 * cut.u_achieved_um, 1)),
        Text(words, style=STYLES[cut.verdict]),
    ]
