"""The setup and the cut plan, with every margin before and after."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.cures import Refret, refrets
from analysis.instrument import FloatArray, Instrument
from analysis.level import level_mm
from analysis.limits import Limits, limits_for
from analysis.margins import Margins, margins
from analysis.playing import PlayingProfile
from analysis.programme import Solution, solve
from analysis.rod import GAIN_DOUBT, RELIEF_PER_TURN_MM, RodCase, relief_cases
from analysis.setup import Setup, setup_from
from analysis.shape import Shape
from analysis.strings import StringLoad, string_loads


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

    relief_change_mm: what the rod adds to relief; turns: how far it is turned for that, by the
    stated default. now, after: the worst margin of every string and position.
    """

    playing: PlayingProfile
    loads: tuple[StringLoad, ...]
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
    planned_mm: float
    level_mm: float


def rod_cases(instrument: Instrument, x_mm: FloatArray) -> tuple[RodCase, ...]:
    """Every way the rod may act that a plan must survive: both shapes, weaker and stronger."""
    return tuple(
        RodCase(case.tops * gain, case.saddle * gain)
        for case in relief_cases(instrument, x_mm)
        for gain in (1.0 - GAIN_DOUBT, 1.0 + GAIN_DOUBT)
    )


def make_plan(
    shape: Shape, instrument: Instrument, playing: PlayingProfile, keep: frozenset[str]
) -> Plan:
    """Least metal for this player on this neck.

    shape: the strung tops. Tops that were not seen take no part, and are named by their status.
    Raises ValueError where more than a tenth of them was not seen.
    """
    unseen = int(np.count_nonzero(~np.isfinite(shape.top_mm)))
    if unseen > 0.1 * shape.top_mm.size:
        raise ValueError(
            f"{unseen} of {shape.top_mm.size} fret tops are not known; a plan needs nine in ten"
        )
    setup = setup_from(shape, instrument)
    loads = string_loads(instrument)
    rows = _known(margins(setup, loads, playing))
    setup = _filled(setup)
    limits = limits_for(setup, shape, playing, keep)
    solution = solve(setup, rows, rod_cases(instrument, setup.x_mm), limits)
    return _plan(shape, setup, loads, playing, rows, limits, solution)


def _known(rows: Margins) -> Margins:
    """Without the margins that hang on a top nobody saw."""
    known = np.isfinite(rows.u_mm)
    return Margins(
        rows.string[known],
        rows.fretted[known],
        rows.at[known],
        rows.bend[known],
        rows.needed_mm[known],
        rows.u_mm[known],
        rows.fixed_mm[known],
        rows.nodes[known],
        rows.nut[known],
        rows.saddle[known],
    )


def _filled(setup: Setup) -> Setup:
    """Unseen nodes made numbers: no margin uses them any more."""
    from dataclasses import replace

    return replace(setup, node_z_mm=np.nan_to_num(setup.node_z_mm))


def _plan(
    shape: Shape,
    setup: Setup,
    loads: tuple[StringLoad, ...],
    playing: PlayingProfile,
    rows: Margins,
    limits: Limits,
    solution: Solution,
) -> Plan:
    still, follows = relief_cases(setup.instrument, setup.x_mm)
    after = np.minimum(*(_after_mm(rows, setup, solution, case) for case in (still, follows)))
    now = rows.clearance_mm(setup.node_z_mm, setup.nut_mm, setup.saddle_mm)
    level = level_mm(setup, still, 0.5)
    missing = np.flatnonzero(solution.short_mm > 1e-5)
    short = tuple(_clearance(rows, after, playing.guard, int(i)) for i in missing)
    turns = -solution.relief_mm / RELIEF_PER_TURN_MM
    return Plan(
        playing,
        loads,
        solution.feasible,
        solution.remove_mm,
        np.hypot(shape.u_top_mm, 5e-4),
        shape.height_mm - solution.remove_mm,
        solution.saddle_mm,
        solution.nut_mm,
        solution.relief_mm,
        turns,
        _worst(rows, now, playing.guard),
        _worst(rows, after, playing.guard),
        short,
        solution.action_short_mm,
        refrets(shape, rows, solution, limits, playing),
        float(solution.remove_mm.sum()),
        float(level.sum()),
    )


def _after_mm(rows: Margins, setup: Setup, solution: Solution, case: RodCase) -> FloatArray:
    """Clearances once the plan is carried out, the rod acting as in `case`."""
    from analysis.programme import cut_of_nodes, rod_at_nodes

    nodes = setup.node_z_mm.ravel() - cut_of_nodes(setup) @ solution.remove_mm.ravel()
    nodes = nodes + solution.relief_mm * rod_at_nodes(case).ravel()
    saddle = setup.saddle_mm + solution.saddle_mm + solution.relief_mm * case.saddle
    return rows.clearance_mm(nodes, setup.nut_mm + solution.nut_mm, saddle)


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
