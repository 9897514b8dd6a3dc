"""The plan for other wishes, its margins and what it hangs on, from where the last one stood."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from analysis.plan.clearances import verdicts, worst_rows
from analysis.plan.limits import Limits
from analysis.plan.margins import IntArray, Margins
from analysis.plan.planner import Planner
from analysis.plan.programme import Solution
from analysis.plan.slopes import Slopes, slopes
from analysis.strings.playing import PlayingProfile


@dataclass(frozen=True, slots=True)
class Replanned:
    """solution: least metal for the controls as they stand. margins: with this player's needs.

    worst: int[places], the row of `margins` nearest to trouble for each string, position and
    bend; spare_mm: its clearance less its need; verdict: "clear", "undecided" or "buzzes".
    """

    solution: Solution
    margins: Margins
    worst: IntArray
    spare_mm: FloatArray
    verdict: NDArray[np.str_]
    slopes: Slopes


def replan(planner: Planner, playing: PlayingProfile, limits: Limits) -> Replanned:
    """From where the last plan stood. playing: one who bends as the planner was made for.

    What is pinned (a saddle, the rod, a fret) has its lowest and highest limit alike.
    """
    margins = planner.played(playing)
    solution = planner.programme.solve(margins, limits)
    worst = worst_rows(margins, solution.clearance_mm)
    spare = solution.clearance_mm[worst] - margins.swing_mm[worst]
    return Replanned(
        solution,
        margins,
        worst,
        spare,
        verdicts(spare, margins.u_mm[worst], limits.guard),
        slopes(margins, planner.programme.prices(), playing, limits.guard),
    )
