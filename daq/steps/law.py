"""What earlier cuts have taught, by tool and fret metal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analysis.after.law import NEW_GAIN, U_NEW_GAIN, Law, Session, fit_law
from analysis.after.workshop import workshop_gain
from daq.errors import InputError
from daq.workshop.laws import LawEntry
from daq.workshop.place import Workshop

#: What a hand means is written to 0.1 µm: as good as that, evenly spread.
U_MEANT_UM = 0.1 / np.sqrt(12.0)


@dataclass(frozen=True, slots=True)
class Hand:
    """With what and on what a person cuts: each pair has a removal law of its own."""

    tool: str
    metal: str


@dataclass(frozen=True, slots=True)
class HandLaw:
    """What a hand has taught. law: None where its cuts are too few or do not agree.

    cuts, sessions: verified, whether there is a law or not. last: when, ISO 8601. start: the
    gain, and its uncertainty, that the law started from; others: laws of the workshop in that.
    """

    hand: Hand
    law: Law | None
    cuts: int
    sessions: int
    last: str
    start: tuple[float, float] = (NEW_GAIN, U_NEW_GAIN)
    others: int = 0


@dataclass(frozen=True, slots=True)
class Known:
    """What is known before a hand cuts. own: None before its first verified cut.

    nearest: another's law, told where there is none of its own, and not used.
    """

    hand: Hand
    own: HandLaw | None
    nearest: HandLaw | None

    @property
    def law(self) -> Law | None:
        """What to aim by."""
        return None if self.own is None else self.own.law


def known_of(workshop: Workshop, hand: Hand) -> Known:
    """The law of this tool in this metal; where there is none, the nearest of another.

    Raises FileError where the law book is damaged.
    """
    every = hand_laws(workshop)
    own = next((one for one in every if one.hand == hand), None)
    if own is not None and own.law is not None:
        return Known(hand, own, None)
    return Known(hand, own, _nearest([one for one in every if one.law is not None], hand))


def chosen_laws(workshop: Workshop, tool: str | None, metal: str | None) -> tuple[HandLaw, ...]:
    """Of one tool, of one metal, or of all. Raises InputError where cuts were verified, but none
    so."""
    every = hand_laws(workshop)
    chosen = tuple(
        one for one in every if tool in (None, one.hand.tool) and metal in (None, one.hand.metal)
    )
    if every and not chosen:
        asked = ", ".join(f"--{k} {v}" for k, v in (("tool", tool), ("metal", metal)) if v)
        there = "; ".join(f"{one.hand.tool} on {one.hand.metal}" for one in every)
        raise InputError(
            f"{asked}: found no verified cut; allowed what has been cut so far: {there}"
        )
    return chosen


def hand_laws(workshop: Workshop) -> tuple[HandLaw, ...]:
    """Of every tool and metal the workshop has verified cuts of, in the order they came.

    A law starts from those of the workshop's other tools and metals, weakly.
    """
    by_hand: dict[Hand, list[LawEntry]] = {}
    for entry in workshop.laws.entries():
        by_hand.setdefault(Hand(entry.tool, entry.metal), []).append(entry)
    alone = {hand: _law(entries) for hand, entries in by_hand.items()}
    out = []
    for hand, entries in by_hand.items():
        others = [law for other, law in alone.items() if other != hand and law is not None]
        start = workshop_gain(others)
        law = _law(entries, start) if others else alone[hand]
        cuts = sum(len(entry.planned_um) for entry in entries)
        last = entries[-1].made
        out.append(HandLaw(hand, law, cuts, len(entries), last, start, len(others)))
    return tuple(out)


def _law(
    entries: Sequence[LawEntry], start: tuple[float, float] = (NEW_GAIN, U_NEW_GAIN)
) -> Law | None:
    try:
        return fit_law([_session(entry) for entry in entries], *start)
    except ValueError:
        return None


def _session(entry: LawEntry) -> Session:
    planned = np.array(entry.planned_um)
    return Session(
        planned,
        np.array(entry.achieved_um),
        np.full_like(planned, U_MEANT_UM),
        np.array(entry.u_um),
    )


def _nearest(others: Sequence[HandLaw], hand: Hand) -> HandLaw | None:
    """Of the same tool first, then of the same metal; of those the one with most cuts."""
    return max(
        others,
        key=lambda one: (one.hand.tool == hand.tool, one.hand.metal == hand.metal, one.cuts),
        default=None,
    )
