"""String heights over fret 12 once a plan is carried out."""

from __future__ import annotations

import numpy as np

from analysis.instrument import FloatArray, Instrument
from analysis.plan.plan import Plan


def action_after_mm(plan: Plan, instrument: Instrument) -> FloatArray:
    """String heights over fret 12 once the plan is carried out, [strings], mm."""
    return np.asarray(instrument.action_mm) + _rise_mm(plan, instrument, 12)


def nut_gap_after_mm(plan: Plan, instrument: Instrument) -> FloatArray:
    """Heights of the open strings over fret 1 once the plan is carried out, [strings], mm."""
    return np.asarray(instrument.nut_gap_mm) + _rise_mm(plan, instrument, 1)


def _rise_mm(plan: Plan, instrument: Instrument, fret: int) -> FloatArray:
    """How much higher the open strings come to stand over a fret, [strings].

    The rod acts as stated; the plan wants the saddles set to these heights whatever it does.
    """
    strings = instrument.string_numbers
    nut, place = instrument.fret_x_mm(0.0, strings), instrument.fret_x_mm(fret, strings)
    share = (place - nut) / (instrument.saddle_x_mm(strings) - nut)
    rod = plan.rod.cases[0]
    line = share * (plan.saddle_mm + plan.relief_change_mm * rod.saddle)
    line = line + (1.0 - share) * plan.nut_mm
    top = plan.relief_change_mm * rod.tops[fret - 1] - plan.remove_mm[fret - 1]
    return np.asarray(line - top)
