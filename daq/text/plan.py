"""The plan, from what is turned first to what it rests on."""

from __future__ import annotations

from rich.console import Console

from analysis.after.law import Law
from analysis.instrument import Instrument
from analysis.plan.plan import Plan
from daq.reading.doubts import Doubts
from daq.text.assumptions import assumptions, playing_sentence
from daq.text.cautions import caution_before_cut, caution_strings
from daq.text.chokes import choke_sentences
from daq.text.console import bullets, heading, say
from daq.text.cures import cure_sentences, in_the_way_sentences
from daq.text.cuts import print_cuts, removals_um
from daq.text.doubts import doubt_sentences, loose_notes
from daq.text.margins import print_margins
from daq.text.setup import setup_sentences
from daq.text.target import shape_short_sentences, target_sentences
from daq.text.words import counted

NO_DOUBTS = Doubts()


def print_plan(
    console: Console,
    plan: Plan,
    instrument: Instrument,
    law: Law | None = None,
    doubts: Doubts = NO_DOUBTS,
    details: bool = False,
) -> None:
    """Everything a person needs to carry out the plan, or to see why there is none; what is
    doubtful comes before any of it. details: every place, not only those in trouble."""
    say(console, playing_sentence(plan))
    for line in [*target_sentences(plan.target), *shape_short_sentences(plan.shape_short_mm)]:
        say(console, line)
    say(console, verdict_sentence(plan), "bold" if plan.feasible else "bold red")
    if plan.feasible:
        say(console, metal_sentence(plan))
    bullets(console, in_the_way_sentences(plan))
    doubtful = doubt_sentences(doubts, len(instrument.strings))
    if doubtful:
        heading(console, "In doubt")
        bullets(console, doubtful)
    cures = cure_sentences(plan)
    if cures:
        heading(console, "What would cure it")
        bullets(console, cures)
    print_margins(console, plan.now, "As it stands", details)
    bends = choke_sentences(plan)
    if bends:
        heading(console, "Bends")
        bullets(console, bends)
    if plan.feasible:
        _print_work(console, plan, instrument, law, doubts, details)
    heading(console, "What this rests on")
    bullets(console, assumptions(plan, instrument))
    if plan.feasible:
        say(console, caution_before_cut(), "dim")


def _print_work(
    console: Console,
    plan: Plan,
    instrument: Instrument,
    law: Law | None,
    doubts: Doubts,
    details: bool,
) -> None:
    heading(console, "Set up first")
    bullets(console, setup_sentences(plan, instrument))
    say(console, caution_strings(), "dim")
    print_cuts(console, plan, law, loose_notes(doubts))
    print_margins(console, plan.after, "After the plan", details)


def verdict_sentence(plan: Plan) -> str:
    """Whether the plan meets everything."""
    if plan.feasible:
        return "This plan meets every margin and every limit."
    return (
        "No plan meets everything on this neck, so nothing is to be changed: half a plan costs "
        "metal and cures nothing. In the way:"
    )


def stored_verdict_sentence(plan: Plan) -> str:
    """Whether a plan still meets everything that would not come out again as it was stored."""
    missed = sum(one.verdict != "clear" for one in plan.after)
    if not plan.feasible or not missed:
        return verdict_sentence(plan)
    return (
        f"By what is known now this plan leaves {counted(missed, 'place')} not surely clear, of "
        f"{len(plan.after)}."
    )


def not_same_sentence() -> str:
    """Of a stored plan that would not come out again as it was stored."""
    return (
        "This plan was made by another program, or calibrations have changed since: its cuts and "
        "screws are shown as they were stored, its margins and what is weighed of it are worked "
        "out anew. Plan again before any more metal comes off."
    )


def metal_sentence(plan: Plan) -> str:
    """Metal against the usual way, levelling."""
    planned, level = float(removals_um(plan).sum()), 1e3 * plan.level_mm
    said = f"Metal off, summed over every fret and string: {planned:.0f} µm. "
    if level < 0.5:
        return f"{said}The tops already lie on straight lines: levelling would take nothing."
    usual = f"Levelling to a straight line under each string would take {level:.0f} µm"
    share = 100.0 * (1.0 - planned / level)
    return f"{said}{usual}: {abs(share):.0f} % {'less' if share >= 0 else 'more'} this way."
