"""Where the open strings come to stand once screws are turned and frets are filed."""

from __future__ import annotations

import numpy as np

from analysis.instrument import FloatArray, Instrument
from analysis.plan.changes import Changes
from analysis.rod.rod import RodCase


def string_rise_mm(
    instrument: Instrument, changes: Changes, case: RodCase, fret: int
) -> FloatArray:
    """How much higher the open strings come to stand over a fret, [strings], mm.

    case: how the rod acts. An open string is straight between nut and saddle.
    """
    strings = instrument.string_numbers
    nut, place = instrument.fret_x_mm(0.0, strings), instrument.fret_x_mm(fret, strings)
    share = (place - nut) / (instrument.saddle_x_mm(strings) - nut)
    saddle = changes.saddle_mm + changes.relief_mm * case.saddle
    line = share * saddle + (1.0 - share) * changes.nut_mm
    top = changes.relief_mm * case.tops[fret - 1] - changes.remove_mm[fret - 1]
    return np.asarray(line - top)
