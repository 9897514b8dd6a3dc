"""What the truss rod does: a shape times turns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from analysis.instrument import FloatArray, Instrument

#: Relief that one turn of tightening takes out, until two scans of this neck say better, mm
#: (common practice, no source; value from memory).
RELIEF_PER_TURN_MM = 0.4
#: The most a plan turns a rod at once.
MOST_TURNS = 0.5
#: A default's effect is trusted no closer than this share either way.
GAIN_DOUBT = 0.25


@dataclass(frozen=True, slots=True)
class RodCase:
    """One way the rod may act, per mm of relief added: lift of tops and of saddles, mm.

    tops: [frets, strings], same frame as the tops. saddle: [strings].
    """

    tops: FloatArray
    saddle: FloatArray


@dataclass(frozen=True, slots=True)
class Rod:
    """What a truss rod does on this neck.

    cases: every way it may act that a plan must survive, saddles set again afterwards; the first
    is the one a plan states. left: the same ways where the saddles are left as they are.
    mm_per_turn: relief that one turn of tightening takes out. most_turns: how far a plan turns
    it at once. learnt: from scans of this neck; otherwise it is the default.
    """

    cases: tuple[RodCase, ...]
    left: tuple[RodCase, ...]
    mm_per_turn: float
    u_mm_per_turn: float
    most_turns: float
    learnt: bool

    @property
    def most_relief_mm(self) -> float:
        """How much relief a plan adds or takes at once."""
        return self.most_turns * self.mm_per_turn


def default_rod(instrument: Instrument, x_mm: FloatArray) -> Rod:
    """The rod as it is taken until scans of this neck say better."""
    u_mm = GAIN_DOUBT * RELIEF_PER_TURN_MM
    ways = rod_cases(instrument, x_mm)
    cases = same_action(ways, instrument, x_mm)
    return Rod(cases, ways, RELIEF_PER_TURN_MM, u_mm, MOST_TURNS, learnt=False)


def relief_cases(instrument: Instrument, x_mm: FloatArray) -> tuple[RodCase, RodCase]:
    """Two bounds on what a rod does, in the frame where nut and body joint stay.

    A rod bends the neck between nut and joint at even curvature (a constant moment), so the
    tops follow -k/2 x (xj - x) there. Past the joint either nothing moves, or the stiff body
    goes on along the tangent and takes the saddle with it; a real neck lies between. Unit:
    1 mm of relief over the chord from fret 1 to the joint.
    """
    joint = instrument.body_joint_fret
    end = x_mm[joint - 1]
    curvature = 8.0 / (end - x_mm[0]) ** 2
    tops = -0.5 * curvature * x_mm * (end - x_mm)
    past = np.clip(x_mm - end, 0.0, None)
    saddle_past = instrument.saddle_x_mm(instrument.string_numbers) - end
    tangent = 0.5 * curvature * end
    still = RodCase(np.where(past > 0, 0.0, tops), np.zeros_like(saddle_past))
    follows = RodCase(np.where(past > 0, tangent * past, tops), tangent * saddle_past)
    return still, follows


def rod_cases(instrument: Instrument, x_mm: FloatArray) -> tuple[RodCase, ...]:
    """Every way the rod may act that a plan must survive; the first is the one it states.

    Both bounds of `relief_cases`, weaker and stronger than the default by GAIN_DOUBT.
    """
    return tuple(
        RodCase(case.tops * gain, case.saddle * gain)
        for case, gain in product(
            relief_cases(instrument, x_mm), (1.0, 1.0 - GAIN_DOUBT, 1.0 + GAIN_DOUBT)
        )
    )


def same_action(
    cases: Sequence[RodCase], instrument: Instrument, x_mm: FloatArray
) -> tuple[RodCase, ...]:
    """The cases, saddles set afterwards so that each gives the action over fret 12 that the first
    one gives: a saddle's lift is what is left once that has been done."""
    strings = instrument.string_numbers
    nut = instrument.fret_x_mm(0.0, strings)
    share = (x_mm[11] - nut) / (instrument.saddle_x_mm(strings) - nut)

    def over_twelve(case: RodCase) -> FloatArray:
        return np.asarray(share * case.saddle - case.tops[11])

    wanted = over_twelve(cases[0])
    return tuple(RodCase(c.tops, c.saddle + (wanted - over_twelve(c)) / share) for c in cases)
