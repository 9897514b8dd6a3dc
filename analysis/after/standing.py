"""How a neck stands: every margin with the screws as they are, and metal still in the way."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from analysis.after.aim import SURELY
from analysis.instrument import FloatArray, Instrument
from analysis.neck.shape import Shape
from analysis.plan.changes import Changes
from analysis.plan.clearances import Clearance, worst_clearances
from analysis.plan.limits import Limits
from analysis.plan.planner import planner_for
from analysis.plan.setup import bridged
from analysis.plan.target import ANYTHING
from analysis.rod.rod import Rod
from analysis.strings.playing import PlayingProfile

#: No string is this high, mm: no limit.
ANY_ACTION_MM = 1e3


@dataclass(frozen=True, slots=True)
class Standing:
    """clearances: the worst margin of every string and position, screws as given.

    left_mm: [frets, strings], the least metal that still has to come off for every margin to
    clear with its guard, NaN where no metal can do it; u_left_mm: how well the tops there are
    known. guard: how many standard uncertainties the plan wants every margin to clear.
    """

    clearances: tuple[Clearance, ...]
    left_mm: FloatArray
    u_left_mm: FloatArray
    guard: float

    @property
    def can(self) -> bool:
        """Metal alone can bring every margin to its guard."""
        return bool(np.isfinite(self.left_mm).all())

    @property
    def near(self) -> tuple[Clearance, ...]:
        """Margins that clear, though by less than the guard; 95 in 100 surely."""
        return tuple(c for c in self._not_clear if _sureness(c) >= self._enough)

    @property
    def short(self) -> tuple[Clearance, ...]:
        """Margins that may well not clear."""
        return tuple(c for c in self._not_clear if _sureness(c) < self._enough)

    @property
    def done(self) -> bool:
        """Every margin clears, surely enough that another pass would be for nothing."""
        return not self.short

    @property
    def _not_clear(self) -> list[Clearance]:
        return [c for c in self.clearances if c.verdict != "clear"]

    @property
    def _enough(self) -> float:
        return min(SURELY, self.guard)


def _sureness(clearance: Clearance) -> float:
    """Standard uncertainties by which a margin clears its need."""
    return (clearance.clearance_mm - clearance.swing_mm) / clearance.u_mm


def standing(
    shape: Shape, instrument: Instrument, playing: PlayingProfile, rod: Rod, screws: Changes
) -> Standing:
    """shape: the strung tops as they are. instrument: its string heights, over those tops.

    screws: rod, nut and saddles that are still to be turned just so; no metal. Raises
    ValueError where too few tops were seen.
    """
    planner = planner_for(shape, instrument, playing, rod)
    limits = _pinned(planner.limits(playing, ANYTHING), screws)
    uncut = replace(limits, most_cut_mm=np.zeros_like(limits.most_cut_mm))
    as_it_is = planner.solve(playing, uncut)
    further = planner.solve(playing, limits)
    return Standing(
        worst_clearances(planner.margins, as_it_is.clearance_mm, playing.guard),
        further.changes.remove_mm if further.feasible else np.full_like(shape.top_mm, np.nan),
        shape.u_top_mm,
        playing.guard,
    )


def _pinned(limits: Limits, screws: Changes) -> Limits:
    return replace(
        limits,
        saddle_mm=(screws.saddle_mm, screws.saddle_mm),
        nut_mm=(screws.nut_mm, screws.nut_mm),
        relief_mm=(screws.relief_mm, screws.relief_mm),
        highest_action_mm=np.full_like(limits.highest_action_mm, ANY_ACTION_MM),
    )


def over_filed_tops(instrument: Instrument, then: Shape, now: Shape) -> Instrument:
    """Its string heights over tops that were filed since they were measured.

    then, now: in one frame. The strings stay where they are; the frets under them fell.
    """
    fell = _fell_mm(then, now)
    return replace(
        instrument,
        nut_gap_mm=tuple((np.asarray(instrument.nut_gap_mm) + fell[0]).tolist()),
        action_mm=tuple((np.asarray(instrument.action_mm) + fell[11]).tolist()),
    )


def with_saddles_set(
    screws: Changes, instrument: Instrument, then: Shape, now: Shape, planned_mm: FloatArray
) -> Changes:
    """The same with saddles set over fret 12 to the height that was planned.

    That is how a plan has them set: where less came off fret 12 than planned, they end higher.
    planned_mm: [frets, strings], the plan's removal.
    """
    strings = instrument.string_numbers
    nut = instrument.fret_x_mm(0.0, strings)
    share = (then.x_mm[11] - nut) / (instrument.saddle_x_mm(strings) - nut)
    less = planned_mm[11] - _fell_mm(then, now)[11]
    return replace(screws, saddle_mm=screws.saddle_mm + less / share)


def _fell_mm(then: Shape, now: Shape) -> FloatArray:
    """[frets, strings]; a top nobody saw fell as its neighbours did."""
    fell = bridged(then.x_mm, then.top_mm - now.top_mm)
    return np.nan_to_num(fell)
