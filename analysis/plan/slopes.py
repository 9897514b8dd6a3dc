"""How much metal hangs on each number of the player's: slopes at the plan just found."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray
from analysis.plan.margins import U_TENSION, Margins
from analysis.plan.programme import Prices
from analysis.strings.playing import PlayingProfile


@dataclass(frozen=True, slots=True)
class Slopes:
    """Metal off, mm summed over frets and strings, for one more of each; exact close by.

    What the programme makes least, metal and screws weighed, is convex in each of these: a step
    that lets more through saves no more than its slope says, and one that asks more costs no less.
    Metal alone all but follows, for a screw weighs little. action: [strings], for a mm of highest
    action. force: for a newton. guard: for one standard uncertainty.
    """

    action: FloatArray
    force: float
    guard: float


def slopes(margins: Margins, prices: Prices, playing: PlayingProfile, guard: float) -> Slopes:
    """margins: those the prices belong to. A string's need grows in proportion to the pluck, and
    with it what is not known of its tension."""
    held, swing = prices.margin, margins.swing_mm
    wanted = swing + guard * (U_TENSION * swing) ** 2 / margins.u_mm
    force = float(np.sum(held * wanted)) / playing.pluck_force_n
    return Slopes(prices.action, force, float(np.sum(held * margins.u_mm)))
