"""How much metal hangs on each number of the player's: slopes at the plan just found."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray
from analysis.plan.margins import Margins
from analysis.plan.programme import Prices
from analysis.strings.playing import PlayingProfile


@dataclass(frozen=True, slots=True)
class Slopes:
    """Metal off, mm summed over frets and strings, for one more of each; exact close by.

    Least metal is convex in each of these: a step that lets more through saves no more than its
    slope says, and one that asks more costs no less. action: [strings], for a mm of highest
    action, never positive. force: for a newton. guard: for one standard uncertainty.
    """

    action: FloatArray
    force: float
    guard: float


def slopes(margins: Margins, prices: Prices, playing: PlayingProfile) -> Slopes:
    """margins: those the prices belong to; a string's need grows in proportion to the pluck."""
    held = prices.margin
    force = float(np.sum(held * margins.swing_mm)) / playing.pluck_force_n
    return Slopes(prices.action, force, float(np.sum(held * margins.u_mm)))
