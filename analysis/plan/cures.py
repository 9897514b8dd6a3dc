"""Where no plan will do: which frets stand in the way, and what would cure it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from analysis.neck.shape import Shape
from analysis.plan.limits import Limits
from analysis.plan.margins import Margins
from analysis.plan.planner import Planner
from analysis.plan.programme import Programme, Solution
from analysis.strings.playing import PlayingProfile

#: What a millimetre of action costs when it is asked how much higher it must be: more than
#: any metal, less than any margin.
ACTION_COST = 100.0


@dataclass(frozen=True, slots=True)
class Refret:
    """A fret to replace, and why, in words."""

    fret: int
    why: str


@dataclass(frozen=True, slots=True)
class Cure:
    """One thing that would make the programme feasible, and the metal it would then take.

    free: what would no longer be kept. raise_mm: [strings], how much higher the action would
    have to be allowed; all zero where the cure is another.
    """

    free: tuple[str, ...]
    raise_mm: tuple[float, ...]
    metal_mm: float


def cures(planner: Planner, playing: PlayingProfile, keep: frozenset[str]) -> tuple[Cure, ...]:
    """The cheapest cure of each kind: one kept thing freed, all freed, a higher action."""
    still = (0.0,) * planner.setup.strings
    found: list[Cure] = []
    freed = [frozenset({one}) for one in sorted(keep)]
    for free in [*freed, keep] if len(keep) > 1 else freed:
        solution = planner.solve(playing, planner.limits(playing, keep - free))
        if solution.feasible:
            found.append(Cure(tuple(sorted(free)), still, solution.metal_mm))
    limits = planner.limits(playing, keep)
    dear = Programme(planner.rows, planner.margins, limits, ACTION_COST)
    higher = dear.solve(planner.margins.played(planner.loads, playing), limits)
    raised = higher.action_short_mm
    if replace(higher, action_short_mm=np.zeros_like(raised)).feasible and raised.max() > 1e-5:
        found.append(Cure((), tuple(float(r) for r in raised), higher.metal_mm))
    return tuple(found)


def refrets(
    shape: Shape, rows: Margins, solution: Solution, limits: Limits, playing: PlayingProfile
) -> tuple[Refret, ...]:
    """Frets worn below what the player needs, and frets too low to play from.

    A margin that stays short though the fret it touches may be cut no more is cured by a new
    fret at the fretted position.
    """
    found: dict[int, str] = {}
    low = shape.height_mm + 2.0 * shape.u_height_mm < playing.least_fret_mm
    for fret in np.flatnonzero(low.any(axis=1)).tolist():
        lowest = int(np.nanargmin(shape.height_mm[fret]))
        found[fret + 1] = (
            f"{shape.height_mm[fret, lowest]:.2f} mm high under string {lowest + 1}, "
            f"the player needs {playing.least_fret_mm:.2f} mm"
        )
    for fret, why in _too_low(rows, solution, limits):
        found.setdefault(fret, why)
    return tuple(Refret(fret, found[fret]) for fret in sorted(found))


def _too_low(rows: Margins, solution: Solution, limits: Limits) -> list[tuple[int, str]]:
    """The fretted positions of margins left short over a fret that may be cut no more."""
    out = []
    short = solution.short_mm
    room = limits.most_cut_mm - solution.changes.remove_mm
    for fret in np.unique(rows.fretted[(short > 1e-5) & (rows.fretted > 0)]).tolist():
        mine = np.flatnonzero((rows.fretted == fret) & (short > 1e-5))
        worst = mine[np.argmax(short[mine])]
        at, string = int(rows.at[worst]), int(rows.string[worst])
        if room[at - 1, string - 1] < 1e-4:
            out.append(
                (
                    fret,
                    f"string {string} fretted here stays {1e3 * short[worst]:.0f} µm short over "
                    f"fret {at}, which has no metal left to give",
                )
            )
    return out
