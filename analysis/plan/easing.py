"""The cheapest cure of each kind, of those that leave the frets as they are."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations

import numpy as np

from analysis.plan.cure import Cure, least_steps
from analysis.plan.measuring import measured
from analysis.plan.planner import Planner, planner_for
from analysis.plan.programme import Programme, Solution
from analysis.plan.target import Target
from analysis.strings.playing import PlayingProfile

#: What a millimetre of action costs when it is asked how much higher it must be: more than
#: any metal, less than any margin.
ACTION_COST = 100.0
#: Screws past their range by this, and no further: then it is the neck's angle (own choice).
SCREW_STEP_MM, MOST_PAST_MM = 0.01, 2.0
#: A rod goes by quarter turns, and no rod much further than this (common practice, no source).
TURN_STEP, MOST_TURNS = 0.25, 2.0
#: Softer by this, and no softer than a light touch (own choice).
FORCE_STEP_N, LEAST_FORCE_N = 0.01, 0.2
BEND_STEP = 0.5
#: Lower by this, and no lower than a fret that is done for (common practice, no source; value
#: from memory).
FRET_STEP_MM, DONE_FOR_MM = 0.01, 0.5


def easings(planner: Planner, playing: PlayingProfile, target: Target) -> Iterator[Cure]:
    """Every kind that alone will do, its least amount, solved with it in place."""
    yield from measured(planner, playing, target)
    yield from _freed(planner, playing, target)
    tried = (_raised, _saddles, _nut, _rod, _softer, _bends, _lower_frets)
    for one in tried:
        cure = one(planner, playing, target)
        if cure is not None:
            yield cure


def _freed(planner: Planner, playing: PlayingProfile, target: Target) -> Iterator[Cure]:
    """Each thing asked alone, then pairs, then all: none that holds a smaller one that will do."""
    done: list[frozenset[str]] = []
    fixed = sorted(target.fixed)
    for count in range(1, len(fixed) + 1):
        for free in map(frozenset, combinations(fixed, count)):
            if any(fewer <= free for fewer in done):
                continue
            solution = planner.solve(playing, planner.limits(playing, target.free(free)))
            if solution.feasible:
                done.append(free)
                yield Cure("free", solution.metal_mm, free=tuple(sorted(free)))


def _raised(planner: Planner, playing: PlayingProfile, target: Target) -> Cure | None:
    """The least action in all, string by string."""
    limits = planner.limits(playing, target)
    dear = Programme(planner.rows, planner.margins, limits, ACTION_COST)
    higher = dear.solve(planner.played(playing), limits)
    raised = higher.action_short_mm
    met = replace(higher, action_short_mm=np.zeros_like(raised)).feasible
    if not met or raised.max() <= 1e-5:
        return None
    return Cure("action", higher.metal_mm, raise_mm=tuple(float(r) for r in raised))


def _saddles(planner: Planner, playing: PlayingProfile, target: Target) -> Cure | None:
    if "saddles" in target.fixed:
        return None
    limits = planner.limits(playing, target)
    low, high = limits.saddle_mm

    def solved(steps: int) -> Solution:
        by = SCREW_STEP_MM * steps
        return planner.solve(playing, replace(limits, saddle_mm=(low - by, high + by)))

    found = least_steps(solved, round(MOST_PAST_MM / SCREW_STEP_MM))
    if found is None:
        return None
    moved = found[1].changes.saddle_mm
    past = np.maximum(moved - high, 0.0) + np.minimum(moved - low, 0.0)
    return Cure("saddles", found[1].metal_mm, raise_mm=tuple(past.tolist()))


def _nut(planner: Planner, playing: PlayingProfile, target: Target) -> Cure | None:
    """Upwards only: in a lower slot the open string would rattle on fret 1."""
    if "nut" in target.fixed:
        return None
    limits = planner.limits(playing, target)
    low, high = limits.nut_mm

    def solved(steps: int) -> Solution:
        return planner.solve(playing, replace(limits, nut_mm=(low, high + SCREW_STEP_MM * steps)))

    found = least_steps(solved, round(MOST_PAST_MM / SCREW_STEP_MM))
    if found is None:
        return None
    past = np.maximum(found[1].changes.nut_mm - high, 0.0)
    return Cure("nut", found[1].metal_mm, raise_mm=tuple(past.tolist()))


def _rod(planner: Planner, playing: PlayingProfile, target: Target) -> Cure | None:
    """Further than a plan turns it at once, in quarter turns; which way is in the sign."""
    rod = planner.rod
    if "rod" in target.fixed:
        return None

    def solved(steps: int) -> Solution:
        further = replace(rod, most_turns=rod.most_turns + TURN_STEP * steps)
        return planner.solve(playing, replace(planner, rod=further).limits(playing, target))

    found = least_steps(solved, int((MOST_TURNS - rod.most_turns) / TURN_STEP))
    if found is None:
        return None
    relief = found[1].changes.relief_mm
    return Cure("rod", found[1].metal_mm, amount=-relief / rod.mm_per_turn)


def _softer(planner: Planner, playing: PlayingProfile, target: Target) -> Cure | None:
    force = playing.pluck_force_n

    def solved(steps: int) -> Solution:
        softer = replace(playing, pluck_force_n=force - FORCE_STEP_N * steps)
        return planner.solve(softer, planner.limits(softer, target))

    most = int((force - LEAST_FORCE_N) / FORCE_STEP_N + 1e-9)
    found = least_steps(solved, most) if most > 0 else None
    if found is None:
        return None
    return Cure("softer", found[1].metal_mm, amount=force - FORCE_STEP_N * found[0])


def _bends(planner: Planner, playing: PlayingProfile, target: Target) -> Cure | None:
    """How wide a bend is belongs to the margins' places: each width is planned for anew."""
    most = math.ceil(playing.bend_semitones / BEND_STEP)

    def narrower(steps: int) -> float:
        return BEND_STEP * (most - steps)

    def solved(steps: int) -> Solution:
        less = replace(playing, bend_semitones=narrower(steps))
        again = planner_for(planner.shape, planner.setup.instrument, less, planner.rod)
        return again.solve(less, again.limits(less, target))

    if most == 0 or not _straight(planner, playing, target).feasible:
        return None
    found = least_steps(solved, most)
    return None if found is None else Cure("bends", found[1].metal_mm, amount=narrower(found[0]))


def _straight(planner: Planner, playing: PlayingProfile, target: Target) -> Solution:
    """Without bends, by the same margins: what bends need is far below what any have."""
    rows = planner.played(playing)
    return planner.programme.solve(rows.asking(~rows.bend), planner.limits(playing, target))


def _lower_frets(planner: Planner, playing: PlayingProfile, target: Target) -> Cure | None:
    """What a bending finger needs is lowered alike."""

    def lower(steps: int) -> PlayingProfile:
        return playing.frets_left(-FRET_STEP_MM * steps)

    def solved(steps: int) -> Solution:
        return planner.solve(lower(steps), planner.limits(lower(steps), target))

    most = int((playing.least_fret_mm - DONE_FOR_MM) / FRET_STEP_MM + 1e-9)
    found = least_steps(solved, most) if most > 0 else None
    if found is None:
        return None
    return Cure("lower frets", found[1].metal_mm, amount=lower(found[0]).least_fret_mm)
