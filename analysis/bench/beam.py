"""On the bench: the setting at which a straight beam does most of the plan by itself."""

from __future__ import annotations

from dataclasses import replace

from analysis.bench.bending import Bending, rod_bending, with_prop
from analysis.bench.prop import nut_lift_mm, prop_places
from analysis.bench.search import best_prop, best_rod
from analysis.bench.setting import BeamSetting, Prop, setting_of
from analysis.bench.straight import U_SET_MM, Lines, lines_over
from analysis.bench.windows import windows
from analysis.instrument import FloatArray, Instrument
from analysis.neck.shape import Shape
from analysis.rod.rod import Rod

#: A prop is proposed where it does at least this share of the plan more (own choice).
PROP_WORTH = 0.1


def beam_setting(
    unstrung: Shape,
    remove_mm: FloatArray,
    instrument: Instrument,
    rod: Rod,
    beam_mm: float | None = None,
    prop: bool = False,
) -> BeamSetting:
    """One rod setting for all, one prop at the most, where the beam is laid, a line a string.

    The beam takes everything above its line and nothing below, so a line must lie on or above
    every planned top under the beam, in every case of what rod and prop may do; as a beam is
    down to its line where two frets are down to the plan, a line passes through two planned
    tops. It runs along one string at a time and is no wider than the strings are apart, so
    that each string has lines of its own. beam_mm: its length; None is as long as the frets.
    prop: whether the neck can be propped; it is where that does PROP_WORTH more of the plan.
    Tops not seen take no part.
    """
    bending = rod_bending(rod, unstrung.x_mm, instrument.body_joint_fret)
    where = windows(unstrung.x_mm, beam_mm)
    lines = _lines(unstrung, remove_mm, bending)
    alone = best_rod(lines, where, float(bending.most_mm[0]))
    found = setting_of(unstrung, rod, lines, alone, beam_mm)
    if not prop or not alone.placed:
        return found
    worth = alone.done_mm + PROP_WORTH * float(remove_mm.sum())
    for fret in prop_places(instrument):
        both = with_prop(bending, instrument, fret, unstrung.x_mm)
        lines = _lines(unstrung, remove_mm, both)
        work = best_prop(lines, where, both.most_mm, alone)
        if work.done_mm >= worth:
            worth = work.done_mm
            lift = float(work.bent[1])
            wedge = Prop(fret, lift, U_SET_MM, nut_lift_mm(instrument, fret, lift))
            found = replace(
                setting_of(unstrung, rod, lines, work, beam_mm),
                prop=wedge,
                share_without=found.share if found.prop is None else found.share_without,
            )
    return found


def _lines(unstrung: Shape, remove_mm: FloatArray, bending: Bending) -> Lines:
    wanted = unstrung.top_mm - remove_mm
    return lines_over(unstrung.x_mm, wanted, remove_mm, bending.lifts)
