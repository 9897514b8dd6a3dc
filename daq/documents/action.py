"""String heights over fret 12 once a plan is carried out."""

from __future__ import annotations

import numpy as np

from analysis.instrument import FloatArray, Instrument
from analysis.plan import Plan
from analysis.rod import relief_cases


def action_after_mm(plan: Plan, instrument: Instrument) -> FloatArray:
    """String heights over fret 12 once the plan is carried out, [strings], mm.

    The rod acts as stated; the plan wants the saddles set to these heights whatever it does.
    """
    strings = instrument.string_numbers
    nut, twelfth = instrument.fret_x_mm(0.0, strings), instrument.fret_x_mm(12.0, strings)
    share = (twelfth - nut) / (instrument.saddle_x_mm(strings) - nut)
    frets = np.arange(1.0, instrument.frets + 1)[:, None]
    rod, _ = relief_cases(instrument, instrument.fret_x_mm(frets, strings[None, :]))
    line = share * (plan.saddle_mm + plan.relief_change_mm * rod.saddle)
    line = line + (1.0 - share) * plan.nut_mm
    top = plan.relief_change_mm * rod.tops[11] - plan.remove_mm[11]
    return np.asarray(np.asarray(instrument.action_mm) + line - top)
