"""A profile that no neck can meet: what the strings ask of one another, whatever the frets."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from analysis.instrument import FloatArray
from analysis.plan.conflict import BoolArray, Conflicts
from analysis.plan.demands import Demands, demands
from analysis.plan.easing import BEND_STEP
from analysis.plan.limits import Limits
from analysis.plan.margins import Margins
from analysis.plan.planner import Planner, planner_for
from analysis.plan.setup import Setup
from analysis.strings.playing import PlayingProfile

#: So little a member counts where another is asked what it must give.
NEXT_TO_NOTHING = 1e-6


@dataclass(frozen=True, slots=True)
class Impossible:
    """What no neck can meet, and the numbers that could be met, one of them alone.

    action_mm: string number -> the lowest highest action that some neck could meet. force_n: the
    hardest pluck that some neck could meet with the actions as they are; None where none would
    do. bend_semitones: the widest bend that some neck could meet; None where straight playing
    asks too much already.
    """

    action_mm: dict[int, float]
    force_n: float | None
    bend_semitones: float | None


def impossible(
    planner: Planner, rows: Margins, limits: Limits, playing: PlayingProfile
) -> Impossible | None:
    """None where some neck of this scale, radius and strings could meet the profile.

    That neck is known exactly, its frets, nut and saddles stand wherever is best: no guard, every
    top free, crowns even across the board's arc, no bound but what playing needs and the highest
    action.
    """
    asked, conflicts = _ideal(planner, rows, limits)
    string, action = asked.string, asked.is_kind("action")
    among = action | asked.is_kind("margin")
    raising = np.where(action, 1.0, NEXT_TO_NOTHING)
    together = conflicts.weights(among, raising)
    if together is None:
        return None
    highest = limits.highest_action_mm.tolist()
    heights: dict[int, float] = {}
    for s, height in enumerate(highest, start=1):
        y = conflicts.weights(among & (string == s), raising)
        if y is not None:
            heights[s] = height + 1.0 / float(y[action].sum())
    if not heights:
        # bends over one another's crowns: no string alone asks too much
        raised = 1.0 / float(together[action].sum())
        heights = {s: height + raised for s, height in enumerate(highest, start=1)}
    straight = among.copy()
    straight[: rows.bend.size] &= ~rows.bend
    bends = conflicts.weights(straight) is None
    return Impossible(
        heights,
        _force_n(asked, conflicts, among, playing),
        _widest_bend(planner, limits, playing) if bends else None,
    )


def _ideal(planner: Planner, rows: Margins, limits: Limits) -> tuple[Demands, Conflicts]:
    setup = planner.setup
    now = rows.clearance_mm(_even_mm(setup), setup.nut_mm, setup.saddle_mm)
    asked = demands(replace(planner.rows, now_mm=now), rows, replace(limits, guard=0.0))
    cuts = np.arange(asked.matrix.shape[1]) < planner.rows.columns.cuts
    return asked, Conflicts(asked, cuts)


def _even_mm(setup: Setup) -> FloatArray:
    """Nodes of crowns that follow the board's arc between the strings."""
    z = setup.node_z_mm.copy()
    apart = np.diff(setup.node_y_mm[:, ::2], axis=1)
    rise = 0.125 * setup.curvature[:, None] * apart**2
    z[:, 1::2] = 0.5 * (z[:, :-1:2] + z[:, 2::2]) + rise
    return z


def _force_n(
    asked: Demands, conflicts: Conflicts, among: BoolArray, playing: PlayingProfile
) -> float | None:
    """What is needed grows in step with the force."""
    needed = np.full(asked.size, NEXT_TO_NOTHING)
    needed[: asked.margins.swing_mm.size] += asked.margins.swing_mm
    y = conflicts.weights(among, needed)
    if y is None:
        return None
    share = 1.0 - 1.0 / float(y @ needed)
    return playing.pluck_force_n * share if share > 0 else None


def _widest_bend(planner: Planner, limits: Limits, playing: PlayingProfile) -> float:
    """In steps, from the profile's down; 0 is known to do."""
    width = playing.bend_semitones - BEND_STEP
    while width > 0.0:
        less = replace(playing, bend_semitones=width)
        again = planner_for(planner.shape, planner.setup.instrument, less, planner.rod)
        asked, conflicts = _ideal(again, again.margins, limits)
        if conflicts.weights(asked.is_kind("action") | asked.is_kind("margin")) is None:
            return width
        width -= BEND_STEP
    return 0.0
