"""What the workshop has learnt of its tools, in words."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console

from analysis.after.law import Law
from daq.steps.law import Hand, HandLaw, Known
from daq.text.console import bullets, heading, say
from daq.text.grid import plain_table
from daq.text.words import counted, fixed, signed

NONE_YET = (
    "The workshop has no verified cut yet: a plan carried out, scanned unstrung and verified is "
    "the first."
)


def hand_words(hand: Hand) -> str:
    """file on nickel silver."""
    return f"{hand.tool} on {hand.metal}"


def gain_words(law: Law) -> str:
    """0.88 ± 0.03."""
    return f"{fixed(law.gain, 2)} ± {fixed(2.0 * law.u_gain, 2)}"


def known_sentence(known: Known) -> str:
    """What a plan's aims go by, and what they do not."""
    hand = hand_words(known.hand)
    if known.own is not None and known.own.law is not None:
        return _by_own_law(hand, known.own, known.own.law)
    so_far = ""
    if known.own is not None:
        so_far = f" ({counted(known.own.cuts, 'verified cut')} so far, too few or too unlike)"
    said = f"No law for {hand} yet{so_far}: what is planned is what to aim at."
    if known.nearest is None or known.nearest.law is None:
        return said
    near = known.nearest
    return (
        f"{said} The nearest is {hand_words(near.hand)}, {gain_words(known.nearest.law)}: not used."
    )


def _by_own_law(hand: str, own: HandLaw, law: Law) -> str:
    said = (
        f"Aims go by the law for {hand}: {gain_words(law)} of what is meant comes off, from "
        f"{counted(law.cuts, 'cut')} in {counted(law.sessions, 'session')}; so that 95 of 100 cuts "
        "stop short of the plan."
    )
    if law.deepest_um < float("inf"):
        said += (
            f" It has seen cuts of {fixed(law.shallowest_um, 0)} to {fixed(law.deepest_um, 0)} µm; "
            "what lies deeper is taken to come off whole."
        )
    if own.others:
        said += f" It was begun from {counted(own.others, 'other law')} of the workshop, weakly."
    return said


def print_laws(console: Console, laws: Sequence[HandLaw]) -> None:
    """A line for every tool and metal, and what the numbers are."""
    if not laws:
        say(console, NONE_YET)
        return
    heading(console, "What comes off of what is meant")
    table = plain_table(["tool", "metal", "gain", "±", "offset µm", "±", "cuts", "sessions"])
    for one in laws:
        table.add_row(*_row(one))
    console.print(table)
    say(console, "±: twice the standard uncertainty", "dim")
    bullets(console, [_told(one) for one in laws])


def _row(one: HandLaw) -> list[str]:
    law = one.law
    numbers = ["-"] * 4
    if law is not None:
        offset = (signed(law.offset_um, 1), fixed(2.0 * law.u_offset_um, 1))
        numbers = [fixed(law.gain, 3), fixed(2.0 * law.u_gain, 3), *offset]
    return [one.hand.tool, one.hand.metal, *numbers, str(one.cuts), str(one.sessions)]


def _told(one: HandLaw) -> str:
    law, hand = one.law, hand_words(one.hand)
    if law is None:
        return f"{hand}: no law yet; it needs at least 3 cuts of different depth that agree."
    return (
        f"{hand}: single cuts scatter by {fixed(law.scatter_um, 1)} µm, days by "
        f"{fixed(law.day_gain, 3)} of the gain; seen {fixed(law.shallowest_um, 1)} to "
        f"{fixed(law.deepest_um, 1)} µm; last verified {one.last[:10]}."
    )
