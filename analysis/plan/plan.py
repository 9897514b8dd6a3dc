"""The setup and the cut plan, with every margin before and after."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray, Instrument
from analysis.neck.shape import Shape
from analysis.plan.changes import nothing_changed
from analysis.plan.cures import Cure, Refret, cures, refrets
from analysis.plan.level import level_mm
from analysis.plan.margins import Margins
from analysis.plan.planner import planner_for
from analysis.plan.programme import SHORT_MM, Solution
from analysis.plan.setup import setup_from
from analysis.rod.rod import Rod, default_rod
from analysis.strings.playing import PlayingProfile
from analysis.strings.strings import StringLoad


@dataclass(frozen=True, slots=True)
class Clearance:
    """The worst margin of one string in one fretted position (0: open).

    clearance_mm: string over the fret at its worst; needed_mm: what its swing needs, without
    guard; u_mm: standard uncertainty. verdict: "clear", "undecided" or "buzzes", by the guard
    band of ISO 14253-1.
    """

    string: int
    fretted: int
    worst_at: int
    bend: bool
    clearance_mm: float
    needed_mm: float
    u_mm: float
    verdict: str


@dataclass(frozen=True, slots=True)
class Plan:
    """remove_mm, height_after_mm: [frets, strings]. saddle_mm, nut_mm: [strings], up positive.

    relief_change_mm: what the rod adds to relief; turns: how far it is turned for that, as `rod`
    has it. now, after: the worst margin of every string and position. short: margins
    that nothing within the limits would meet; then nothing is changed, and `cures` says what
    would help.
    """

    playing: PlayingProfile
    keep: frozenset[str]
    loads: tuple[StringLoad, ...]
    rod: Rod
    feasible: bool
    remove_mm: FloatArray
    u_remove_mm: FloatArray
    height_after_mm: FloatArray
    saddle_mm: FloatArray
    nut_mm: FloatArray
    relief_change_mm: float
    turns: float
    now: tuple[Clearance, ...]
    after: tuple[Clearance, ...]
    short: tuple[Clearance, ...]
    action_short_mm: FloatArray
    refret: tuple[Refret, ...]
    cures: tuple[Cure, ...]
    planned_mm: float
    level_mm: float


def make_plan(
    shape: Shape,
    instrument: Instrument,
    playing: PlayingProfile,
    keep: frozenset[str],
    rod: Rod | None = None,
) -> Plan:
    """Least metal for this player on this neck.

    shape: the strung tops. keep: "rod", "nut", "saddles", what is not touched. rod: as learnt on
    this neck; None takes the default. Where no plan
    meets every margin nothing is changed at all: half a plan costs metal and cures nothing;
    `short` and `cures` then say what is in the way. Raises ValueError where more than a tenth
    of the tops was not seen; fewer take no part, and no margin hangs on them.
    """
    unseen = int(np.count_nonzero(~np.isfinite(shape.top_mm)))
    if unseen > 0.1 * shape.top_mm.size:
        raise ValueError(
            f"{unseen} of {shape.top_mm.size} fret tops are not known; a plan needs nine in ten"
        )
    rod = default_rod(instrument, shape.x_mm) if rod is None else rod
    planner = planner_for(shape, instrument, playing, rod)
    limits = planner.limits(playing, keep)
    solution = planner.solve(playing, limits)
    feasible, rows = solution.feasible, planner.margins
    done = solution.changes if feasible else nothing_changed(planner.setup)
    now = planner.rows.now_mm
    level = level_mm(setup_from(shape, instrument), rod.cases[0], rod.most_relief_mm)
    guard = playing.guard
    return Plan(
        playing,
        keep,
        planner.loads,
        rod,
        feasible,
        done.remove_mm,
        np.hypot(shape.u_top_mm, 5e-4),
        shape.height_mm - done.remove_mm,
        done.saddle_mm,
        done.nut_mm,
        done.relief_mm,
        -done.relief_mm / rod.mm_per_turn,
        _worst(rows, now, guard),
        _worst(rows, solution.clearance_mm if feasible else now, guard),
        _short(rows, solution, guard),
        solution.action_short_mm,
        refrets(shape, rows, solution, limits, playing),
        () if feasible else cures(planner, playing, keep),
        float(done.remove_mm.sum()),
        float(level.sum()),
    )


def _short(rows: Margins, solution: Solution, guard: float) -> tuple[Clearance, ...]:
    """The margins that no change within the limits would meet, as near as they could come."""
    missing = np.flatnonzero(solution.short_mm > SHORT_MM)
    return tuple(_clearance(rows, solution.clearance_mm, guard, int(i)) for i in missing)


def _worst(rows: Margins, clearance: FloatArray, guard: float) -> tuple[Clearance, ...]:
    """The margin nearest to trouble for every string and fretted position, bends apart."""
    over = clearance - rows.needed_mm
    order = np.lexsort((over, rows.fretted, rows.string, rows.bend))
    key = np.column_stack([rows.bend, rows.string, rows.fretted])[order]
    first = np.concatenate([[True], np.any(np.diff(key.astype(int), axis=0) != 0, axis=1)])
    return tuple(_clearance(rows, clearance, guard, int(i)) for i in order[first])


def _clearance(rows: Margins, clearance: FloatArray, guard: float, i: int) -> Clearance:
    over, band = clearance[i] - rows.needed_mm[i], guard * rows.u_mm[i]
    # a millionth of a millimetre: the programme meets its rows to that
    verdict = "clear" if over >= band - 1e-6 else "buzzes" if over < -band else "undecided"
    return Clearance(
        int(rows.string[i]),
        int(rows.fretted[i]),
        int(rows.at[i]),
        bool(rows.bend[i]),
        float(clearance[i]),
        float(rows.needed_mm[i]),
        float(rows.u_mm[i]),
        verdict,
    )
