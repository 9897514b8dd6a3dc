"""String heights over fret 12 once a plan is carried out."""

from __future__ import annotations

import numpy as np

from analysis.after.heights import string_rise_mm
from analysis.instrument import FloatArray, Instrument
from analysis.plan.changes import Changes
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
    changes = Changes(plan.remove_mm, plan.saddle_mm, plan.nut_mm, plan.relief_change_mm)
    return string_rise_mm(instrument, changes, plan.rod.cases[0], fret)
