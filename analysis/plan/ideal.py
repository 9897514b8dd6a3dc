"""A profile that no neck can meet: what the strings ask of one another, whatever the frets."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from analysis.plan.conflict import BoolArray, Conflicts
from analysis.plan.demands import Demands, demands
from analysis.plan.limits import Limits
from analysis.plan.margins import Margins
from analysis.plan.planner import Planner
from analysis.strings.playing import PlayingProfile


@dataclass(frozen=True, slots=True)
class Impossible:
    """What no neck can meet, and the numbers that could be met.

    action_mm: string number -> the lowest highest action that some neck could meet. force_n: the
    hardest pluck that some neck could meet with the actions as they are; None where none would
    do. bends: only bends ask too much.
    """

    action_mm: dict[int, float]
    force_n: float | None
    bends: bool


def impossible(
    planner: Planner, rows: Margins, limits: Limits, playing: PlayingProfile
) -> Impossible | None:
    """None where some neck of this scale and these strings could meet the profile.

    That neck is known exactly, its frets, nut and saddles stand wherever is best: no guard, every
    top free, no bound but what playing needs and the highest action.
    """
    exact = replace(limits, guard=0.0)
    asked = demands(planner.rows, rows, exact)
    conflicts = Conflicts(asked, np.arange(asked.matrix.shape[1]) < planner.rows.columns.cuts)
    string, action = asked.string, asked.is_kind("action")
    among = action | asked.is_kind("margin")
    heights: dict[int, float] = {}
    for s in range(1, planner.setup.strings + 1):
        mine = among & (string == s)
        y = conflicts.weights(mine, np.where(action, 1.0, 1e-6))
        if y is not None:
            raised = 1.0 / float(y[action].sum())
            heights[s] = float(limits.highest_action_mm[s - 1]) + raised
    if not heights:
        return None
    straight = among.copy()
    straight[: rows.bend.size] = ~rows.bend
    bends = conflicts.weights(straight) is None
    return Impossible(heights, _force_n(asked, conflicts, rows, among, playing), bends)


def _force_n(
    asked: Demands,
    conflicts: Conflicts,
    rows: Margins,
    among: BoolArray,
    playing: PlayingProfile,
) -> float | None:
    """What is needed grows in step with the force."""
    needed = np.full(asked.size, 1e-6)
    needed[: rows.swing_mm.size] += rows.swing_mm
    y = conflicts.weights(among, needed)
    if y is None:
        return None
    share = 1.0 - 1.0 / float(y @ needed)
    return playing.pluck_force_n * share if share > 0 else None
