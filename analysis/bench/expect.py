"""What the gauges show once the work is done, strings on and set up, and before that."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray, Instrument
from analysis.neck.relief import reliefs
from analysis.neck.shape import Shape
from analysis.plan.clearances import Clearance
from analysis.plan.plan import Plan
from analysis.plan.setup import bridged, setup_from
from analysis.rod.rod import RodCase

#: So many of the tightest places are named.
TIGHTEST = 5


@dataclass(frozen=True, slots=True)
class Reading:
    """What a gauge shows under or over each string, mm, [strings]. at_fret: where; 0: several."""

    what: str
    value_mm: FloatArray
    u_mm: FloatArray
    at_fret: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Expected:
    """unstrung: before the strings go on, the rod where the plan wants it, nothing propping.
    strung: strings at pitch and saddles set. listen: the places left with least to spare for
    what is known of them, the tightest first."""

    unstrung: tuple[Reading, ...]
    strung: tuple[Reading, ...]
    listen: tuple[Clearance, ...]


def expected(
    strung: Shape, unstrung: Shape, instrument: Instrument, plan: Plan, u_cut_um: float
) -> Expected:
    """Readings with what is known of them. u_cut_um: how far a cut comes off its plan.

    The stated case of the rod is what is expected; the furthest any other case lies off is
    taken for the half-width of a rectangular distribution (JCGM 100:2008, 4.3.7). Action is a
    matter of setting: it is what the saddles are set to, as well as a gauge by hand shows.
    """
    cut = np.where(plan.remove_mm > 0, 1e-3 * u_cut_um, 0.0)
    strings = (
        _action(strung, instrument, plan),
        _nut_gap(strung, instrument, plan, cut),
        _relief("relief", strung, instrument, plan, cut),
        *(_feeler(strung, instrument, plan, cut, end) for end in _ends(instrument)),
    )
    bare = (_relief("relief, unstrung", unstrung, instrument, plan, cut),)
    return Expected(bare, strings, _tightest(plan))


def _ends(instrument: Instrument) -> tuple[int, ...]:
    """Frets a string is held at for a feeler half-way: the joint, and the last where another."""
    return tuple(dict.fromkeys((instrument.body_joint_fret, instrument.frets)))


def _tops(shape: Shape, plan: Plan, case: RodCase) -> FloatArray:
    tops = shape.top_mm - plan.remove_mm + plan.relief_change_mm * case.tops
    return bridged(shape.x_mm, tops)


def _over_cases(
    plan: Plan, found: Callable[[RodCase], FloatArray]
) -> tuple[FloatArray, FloatArray]:
    """The stated case's value, and what the others make uncertain of it, [strings]."""
    stated, *others = (found(case) for case in plan.rod.cases)
    off = [np.abs(other - stated) for other in others]
    return stated, np.max(off, axis=0, initial=0.0) / np.sqrt(3.0) if off else 0.0 * stated


def _open_string_mm(
    shape: Shape, instrument: Instrument, plan: Plan, fret: int, case: RodCase
) -> FloatArray:
    """The open strings over a fret, [strings]: a straight line from nut to saddle."""
    setup = setup_from(shape, instrument)
    share = (setup.x_mm[fret - 1] - setup.nut_x_mm) / (setup.saddle_x_mm - setup.nut_x_mm)
    nut = setup.nut_mm + plan.nut_mm
    saddle = setup.saddle_mm + plan.saddle_mm + plan.relief_change_mm * case.saddle
    return np.asarray(nut + share * (saddle - nut) - _tops(shape, plan, case)[fret - 1])


def _action(shape: Shape, instrument: Instrument, plan: Plan) -> Reading:
    high = _open_string_mm(shape, instrument, plan, 12, plan.rod.cases[0])
    u = np.full(high.shape, instrument.u_action_mm)
    return Reading("string over fret 12", high, u, (12,) * high.size)


def _nut_gap(shape: Shape, instrument: Instrument, plan: Plan, cut: FloatArray) -> Reading:
    high, rod = _over_cases(plan, lambda c: _open_string_mm(shape, instrument, plan, 1, c))
    u = np.sqrt(instrument.u_action_mm**2 + rod**2 + cut[0] ** 2)
    return Reading("string over fret 1", high, u, (1,) * high.size)


def _relief(
    what: str, shape: Shape, instrument: Instrument, plan: Plan, cut: FloatArray
) -> Reading:
    """Under the chord from fret 1 to the joint, at the deepest fret of the stated case."""
    joint = instrument.body_joint_fret
    u_tops = np.hypot(shape.u_top_mm, cut)

    def depth(case: RodCase) -> FloatArray:
        found = reliefs(shape.x_mm, _tops(shape, plan, case), u_tops, joint)
        return np.array([one.relief_mm for one in found])

    value, rod = _over_cases(plan, depth)
    found = reliefs(shape.x_mm, _tops(shape, plan, plan.rod.cases[0]), u_tops, joint)
    u = np.hypot(rod, [one.u_relief_mm for one in found])
    return Reading(what, value, u, tuple(one.at_fret for one in found))


def _feeler(shape: Shape, instrument: Instrument, plan: Plan, cut: FloatArray, end: int) -> Reading:
    """Under a string held down at fret 1 and at `end`: at the fret nearest half-way."""
    x = shape.x_mm
    half = 0.5 * (x[0] + x[end - 1])
    at = np.abs(x[:end] - half).argmin(axis=0)
    strings = np.arange(x.shape[1])
    share = (x[at, strings] - x[0]) / (x[end - 1] - x[0])

    def gap(case: RodCase) -> FloatArray:
        z = _tops(shape, plan, case)
        return np.asarray(z[0] + share * (z[end - 1] - z[0]) - z[at, strings])

    value, rod = _over_cases(plan, gap)
    u = np.hypot(shape.u_top_mm, cut)
    parts = (u[at, strings], (1.0 - share) * u[0], share * u[end - 1], rod)
    name = f"feeler, string held at frets 1 and {end}"
    return Reading(name, value, np.sqrt(np.sum(np.square(parts), axis=0)), tuple((at + 1).tolist()))


def _tightest(plan: Plan) -> tuple[Clearance, ...]:
    """By what is to spare, in units of what is known of it."""
    ranked = sorted(plan.after, key=lambda c: (c.clearance_mm - c.swing_mm) / c.u_mm)
    return tuple(ranked[:TIGHTEST])
