"""What is in the way where no plan will do: the smallest sets that cannot be met together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.plan.conflict import BoolArray, Conflicts
from analysis.plan.demands import Demands, Member, demands, wanted_mm
from analysis.plan.limits import Limits
from analysis.plan.margins import Margins
from analysis.plan.planner import Planner

#: More sets of one string than this, or of several strings, nobody reads.
SETS_OF_STRING, MOST_SETS = 2, 4


@dataclass(frozen=True, slots=True)
class Hurdle:
    """A member of a set, in a person's numbers, mm.

    now_mm, u_mm: a margin's clearance, an action's string height, a cut's fret height, with
    their standard uncertainty; None and 0 of other limits. limit_mm: what a margin needs with its
    guard, the highest action, how much may still be cut, how far the screw may go, how far
    neighbouring cuts may differ.
    """

    member: Member
    now_mm: float | None
    u_mm: float
    limit_mm: float


@dataclass(frozen=True, slots=True)
class Blocking:
    """Demands and limits that cannot be met together; without any one of them the rest can.

    short_mm: how far each would have to give way if all gave way alike. any_frets: they exclude
    one another whatever the frets' heights: no cut and no new fret helps.
    """

    hurdles: tuple[Hurdle, ...]
    short_mm: float
    any_frets: bool


def blocking(planner: Planner, rows: Margins, limits: Limits) -> tuple[Blocking, ...]:
    """Sets that share no member but the rod, each found with those before it out of the way.

    String by string, for that is how a person thinks of it; only where every string alone could
    be met are they looked at together. rows: the planner's margins with what this player needs.
    Empty where a plan will do.
    """
    asked = demands(planner.rows, rows, limits)
    conflicts = Conflicts(asked)
    found: list[Blocking] = []
    alone = asked.is_kind("step up") | asked.is_kind("step down")
    for s in range(1, planner.setup.strings + 1):
        among = ~alone & ((asked.string == s) | (asked.string == 0))
        found += _among(planner, rows, limits, asked, conflicts, among, SETS_OF_STRING)
    if found:
        return tuple(found)
    return tuple(_among(planner, rows, limits, asked, conflicts, ~np.zeros_like(alone), MOST_SETS))


def _among(
    planner: Planner,
    rows: Margins,
    limits: Limits,
    asked: Demands,
    conflicts: Conflicts,
    among: BoolArray,
    most: int,
) -> list[Blocking]:
    found: list[Blocking] = []
    while len(found) < most:
        chosen = conflicts.found(among)
        if chosen is None:
            break
        among = among & ~chosen
        found.append(described(planner, rows, limits, asked, conflicts, chosen))
    return found


def described(
    planner: Planner,
    rows: Margins,
    limits: Limits,
    asked: Demands,
    conflicts: Conflicts,
    chosen: BoolArray,
) -> Blocking:
    """A set that was found. Raises ValueError where it can be met after all."""
    y = conflicts.weights(chosen)
    if y is None:
        raise ValueError("these demands can be met together")
    members = [asked.member(i) for i in np.flatnonzero(chosen).tolist()]
    on_frets = np.abs(asked.matrix.T @ y)[: planner.rows.columns.cuts].max(initial=0.0)
    return Blocking(
        tuple(_hurdle(planner, rows, limits, member) for member in members),
        float(1.0 / y.sum()),
        bool(on_frets < 1e-6 * y.max()),
    )


def _hurdle(planner: Planner, rows: Margins, limits: Limits, member: Member) -> Hurdle:
    s, at = member.string - 1, member.at - 1
    setup, shape = planner.setup, planner.shape
    if member.kind == "margin":
        i = member.row
        wanted = wanted_mm(rows, limits)[i]
        return _numbers(member, planner.rows.now_mm[i], rows.u_mm[i], wanted)
    if member.kind == "action":
        u = np.hypot(setup.u_saddle_mm[s], setup.u_nut_mm[s]) / 2.0
        highest = limits.highest_action_mm[s]
        return _numbers(member, planner.rows.action_now_mm[s], u, highest)
    if member.kind == "cut":
        height, u = shape.height_mm[at, s], shape.u_height_mm[at, s]
        return _numbers(member, height, u, limits.most_cut_mm[at, s])
    if member.kind in ("step up", "step down"):
        return Hurdle(member, None, 0.0, float(planner.rows.most_step_mm[_step(planner, member)]))
    return Hurdle(member, None, 0.0, _screw_mm(limits, member.kind, s))


def _screw_mm(limits: Limits, kind: str, s: int) -> float:
    """How far a screw goes, never negative."""
    if kind.startswith("rod"):
        least, most = limits.relief_mm
        return most if kind == "rod add" else -least
    low, high = limits.saddle_mm if kind.startswith("saddle") else limits.nut_mm
    return float(high[s]) if kind.endswith("up") else -float(low[s])


def _step(planner: Planner, member: Member) -> int:
    return (member.at - 1) * (planner.setup.strings - 1) + member.string - 1


def _numbers(member: Member, now: float, u: float, limit: float) -> Hurdle:
    return Hurdle(member, float(now), float(u), float(limit))
