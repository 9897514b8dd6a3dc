"""Bends: where a bent string would choke, and the board radius or the cut that would stop it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from analysis.plan.bends import Bend, State, bend_over, widest_semitones
from analysis.plan.changes import Changes
from analysis.plan.clearances import MET_MM, verdicts, worst_rows
from analysis.plan.demands import wanted_mm
from analysis.plan.limits import Limits
from analysis.plan.planner import Planner
from analysis.plan.setup import Setup, at_nodes
from analysis.rod.rod import RodCase
from analysis.strings.playing import PlayingProfile


@dataclass(frozen=True, slots=True)
class Choke:
    """One string that is clear straight and not clear bent in the same position.

    at: the fret in its way. clearance_mm, u_mm: over it, without swing; below 0 the string lies
    on it. short_mm: how much is missing for its swing with the guard. verdict: "buzzes" (it
    chokes), "undecided". radius_mm: the smallest board radius there that would stop it, the
    straight string as high over each fret as it is; infinite for a flat board, None where no
    radius would. now_radius_mm: of the board there.
    """

    string: int
    fretted: int
    at: int
    clearance_mm: float
    u_mm: float
    short_mm: float
    verdict: str
    radius_mm: float | None
    now_radius_mm: float


@dataclass(frozen=True, slots=True)
class Chokes:
    """now, after: what chokes as the neck is and once the plan is done. cut_mm: [frets, strings],
    the least metal that alone would stop what chokes now, screws left as they are; None where no
    cut would, or none is wanted. widest_now, widest_after: [frets, strings], semitones up to
    which each string may be bent at each fret.
    """

    now: tuple[Choke, ...]
    after: tuple[Choke, ...]
    cut_mm: FloatArray | None
    widest_now: FloatArray
    widest_after: FloatArray


def chokes(
    planner: Planner, playing: PlayingProfile, limits: Limits, done: Changes
) -> Chokes | None:
    """limits: as planned by. done: what the plan changes, the rod as it is stated. None for a
    player who does not bend.
    """
    if not planner.margins.bend.any():
        return None
    loads, rows = planner.loads, planner.margins
    semitones = playing.bend_semitones
    before = State(planner.setup, np.zeros_like(done.remove_mm))
    after = after_plan(planner, limits, done)
    now = _choking(planner, semitones, limits, before)

    def widest(state: State) -> FloatArray:
        clear = _bends_clear(planner, limits, state)
        return widest_semitones(state, loads, rows, limits.guard, semitones * clear)

    return Chokes(
        now,
        _choking(planner, semitones, limits, after),
        _cut_mm(planner, limits, now) if now else None,
        widest(before),
        widest(after),
    )


def _bends_clear(planner: Planner, limits: Limits, state: State) -> NDArray[np.bool_]:
    """Where the margins of bends are all met, [frets, strings]; not where there are none."""
    rows, setup = planner.margins, planner.setup
    met = state.clearance_mm(rows) >= wanted_mm(rows, limits) - MET_MM
    places = (setup.frets + 1) * setup.strings
    place = rows.fretted[rows.bend] * setup.strings + rows.string[rows.bend] - 1
    some = np.bincount(place, minlength=places) > 0
    missed = np.bincount(place, ~met[rows.bend], minlength=places) > 0
    return np.asarray((some & ~missed).reshape(-1, setup.strings)[1:])


def after_plan(planner: Planner, limits: Limits, done: Changes) -> State:
    """The neck once a plan is done, the rod as it is stated."""
    rod = planner.rod
    way = rod.left[0] if limits.saddles_left else rod.cases[0]
    return State(_turned(planner.setup, way, done), done.remove_mm)


def _turned(setup: Setup, way: RodCase, done: Changes) -> Setup:
    """Rod, nut and saddles as done, nothing cut."""
    return replace(
        setup,
        node_z_mm=setup.node_z_mm + done.relief_mm * at_nodes(way.tops),
        nut_mm=setup.nut_mm + done.nut_mm,
        saddle_mm=setup.saddle_mm + done.saddle_mm + done.relief_mm * way.saddle,
    )


def _choking(planner: Planner, semitones: float, limits: Limits, state: State) -> tuple[Choke, ...]:
    rows, setup = planner.margins, planner.setup
    clearance = state.clearance_mm(rows)
    spare = clearance - rows.swing_mm
    worst = worst_rows(rows, clearance)
    verdict = verdicts(spare[worst], rows.u_mm[worst], limits.guard)
    bend = rows.bend[worst]
    clear = {
        (int(rows.string[i]), int(rows.fretted[i]))
        for i in worst[~bend & (verdict == "clear")].tolist()
    }
    wanted = wanted_mm(rows, limits)
    found = []
    trouble = bend & (verdict != "clear")
    for i, said in zip(worst[trouble].tolist(), verdict[trouble].tolist(), strict=True):
        string, fretted, at = int(rows.string[i]), int(rows.fretted[i]), int(rows.at[i])
        if (string, fretted) not in clear:
            continue
        over = bend_over(setup, planner.loads[string - 1], semitones, string, fretted, at)
        found.append(
            Choke(
                string,
                fretted,
                at,
                float(clearance[i]),
                float(rows.u_mm[i]),
                float(wanted[i] - clearance[i]),
                said,
                radius_mm(over, float(wanted[i] - clearance[i])),
                float(1.0 / setup.curvature[at - 1]),
            )
        )
    return tuple(found)


def radius_mm(bend: Bend, short_mm: float) -> float | None:
    """The smallest board radius that gives a bent string so much more clearance, at the fret in
    its way; the board between is flatter by the same share.

    Each fret's top under the straight string stays; across, an arc goes through it, so that with
    its curvature times f the height at y changes by k/2 (1 - f) (y^2 - ys^2). Clearance is linear
    in f: c(f) = c(1) + (1 - f) (P kn - Q km), with P, Q the halves of y^2 - ys^2 at the fretted
    fret, by the share of it that reaches the other, and there. Infinite for a flat board; None
    where not even that is flat enough, or flatter does not help.
    """
    near, far = bend.curvature
    p = 0.5 * (1.0 - bend.share) * (bend.start_y_mm**2 - bend.string_y_mm[0] ** 2)
    q = 0.5 * (bend.y_mm**2 - bend.string_y_mm[1] ** 2)
    gain = p * near - q * far
    if gain < short_mm or gain <= 0.0:
        return None
    left = 1.0 - short_mm / gain
    return float("inf") if left == 0.0 else float(1.0 / (left * far))


def _cut_mm(planner: Planner, limits: Limits, now: tuple[Choke, ...]) -> FloatArray | None:
    """Only what chokes is asked for, and metal alone may change."""
    rows, still = planner.margins, np.zeros(planner.setup.strings)
    frets = planner.setup.frets + 1
    choking = [one.string * frets + one.fretted for one in now]
    asked = rows.bend & np.isin(rows.string * frets + rows.fretted, choking)
    metal_only = replace(
        limits,
        saddle_mm=(still, still),
        nut_mm=(still, still),
        relief_mm=(0.0, 0.0),
        highest_action_mm=np.full_like(still, np.inf),
    )
    solution = planner.programme.solve(rows.asking(asked), metal_only)
    return solution.changes.remove_mm if solution.feasible else None
