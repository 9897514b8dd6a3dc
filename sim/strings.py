"""Where the strings run over a strung neck: from nut slot to saddle, straight."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.instrument import FloatArray, Instrument
from sim.neck import NOTHING_MM, Neck
from sim.scenario import Scenario

IN_THE_WAY_MM = 1.0
"""A lane nearer to a string than this reads the string."""


@dataclass(frozen=True, slots=True)
class Strings:
    """slot_mm, saddle_mm: float[strings], heights of the strings' undersides at x = 0 and at
    the saddle, over the neck's bent centre line there, so that they ride on nut and body."""

    made: Instrument
    slot_mm: FloatArray
    saddle_mm: FloatArray

    def moved(self, nut_mm: FloatArray, saddles_mm: FloatArray) -> Strings:
        """Slots and saddles raised by these, float[strings]."""
        return Strings(self.made, self.slot_mm + nut_mm, self.saddle_mm + saddles_mm)

    def underside_mm(self, neck: Neck, x_mm: FloatArray) -> FloatArray:
        """float[n, strings], in the neck's frame."""
        ends = neck.shape.centre_mm(np.array([0.0, self.made.scale_mm]))
        slot, saddle = self.slot_mm + ends[0], self.saddle_mm + ends[1]
        share = np.asarray(x_mm, dtype=float)[:, np.newaxis] / self.made.scale_mm
        return np.asarray(slot + share * (saddle - slot), dtype=float)

    def strands_mm(self, neck: Neck, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        """Upper side of the string in the way of the points, NOTHING_MM where none is."""
        away = np.abs(y_mm[:, np.newaxis] - self.made.string_y_mm(x_mm))
        upper = self.underside_mm(neck, x_mm) + 25.4 * np.array(self.made.gauges_in)
        z = np.max(np.where(away < IN_THE_WAY_MM, upper, NOTHING_MM), axis=1)
        between_ends = (x_mm > 0.0) & (x_mm < self.made.scale_mm)
        return np.where(between_ends, z, NOTHING_MM)


def strings_as_found(scenario: Scenario, strung: Neck) -> Strings:
    """Strings that stand over frets 1 and 12 of the neck as found by what its owner measured."""
    x_mm = strung.fret_x_mm[[0, 11]]
    tops_mm = strung.tops_under_strings_mm()[[0, 11]]
    over = tops_mm + np.stack([scenario.nut_gap_mm, scenario.action_mm])
    slope = (over[1] - over[0]) / (x_mm[1] - x_mm[0])
    scale_mm = scenario.instrument.scale_mm
    ends = strung.shape.centre_mm(np.array([0.0, scale_mm]))
    slot = over[0] - slope * x_mm[0] - ends[0]
    saddle = over[0] + slope * (scale_mm - x_mm[0]) - ends[1]
    return Strings(scenario.instrument, slot, saddle)
