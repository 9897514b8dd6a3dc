"""Where the strings run over a strung neck: from nut slot to saddle, straight but for weight."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from sim.crown import IntArray
from sim.instrument import FloatArray, Instrument
from sim.neck import NOTHING_MM, Neck
from sim.scenario import Scenario
from sim.tension import StringSet


@dataclass(frozen=True, slots=True)
class Strings:
    """slot_mm, saddle_mm: float[strings], heights of the strings' undersides at x = 0 and at
    the saddle, over the neck's bent centre line there, so that they ride on nut and body."""

    made: Instrument
    at_pitch: StringSet
    slot_mm: FloatArray
    saddle_mm: FloatArray

    def moved(self, nut_mm: FloatArray, saddles_mm: FloatArray) -> Strings:
        """Slots and saddles raised by these, float[strings]."""
        return replace(self, slot_mm=self.slot_mm + nut_mm, saddle_mm=self.saddle_mm + saddles_mm)

    def underside_mm(self, neck: Neck, x_mm: FloatArray) -> FloatArray:
        """float[n, strings], in the neck's frame, of strings without weight."""
        return self._straight_mm(neck, x_mm[:, np.newaxis], self.slot_mm, self.saddle_mm)

    def upper_mm(self, neck: Neck, x_mm: FloatArray, string: IntArray) -> FloatArray:
        """float[n]: highest points of these strings, weight and unevenness included."""
        under = self._straight_mm(neck, x_mm, self.slot_mm[string], self.saddle_mm[string])
        share = x_mm / self.made.scale_mm
        sag = 4.0 * self.at_pitch.sag_mm[string] * share * (1.0 - share)
        even = under + 2.0 * self._radius_mm[string] - sag
        return np.asarray(even + self.at_pitch.uneven_mm(x_mm, string), dtype=float)

    def strands_mm(
        self, neck: Neck, x_mm: FloatArray, y_mm: FloatArray, tip_mm: float
    ) -> FloatArray:
        """What a tip of this radius reads of the string in its way, NOTHING_MM where none is.

        A ball over a round string rides on a circle of both radii together.
        """
        away = y_mm[:, np.newaxis] - self.made.string_y_mm(x_mm)
        both_mm = self._radius_mm + tip_mm
        between_ends = (x_mm > 0.0) & (x_mm < self.made.scale_mm)
        # only where it matters: a string's shape is dear to work out
        at, string = np.nonzero((np.abs(away) < both_mm) & between_ends[:, np.newaxis])
        lower = both_mm[string] - np.sqrt(both_mm[string] ** 2 - away[at, string] ** 2)
        z = np.full_like(x_mm, NOTHING_MM)
        np.maximum.at(z, at, self.upper_mm(neck, x_mm[at], string) - lower)
        return z

    def _straight_mm(
        self, neck: Neck, x_mm: FloatArray, slot_mm: FloatArray, saddle_mm: FloatArray
    ) -> FloatArray:
        """From slot to saddle, over the neck's centre line; as x and strings broadcast."""
        ends = neck.shape.centre_mm(np.array([0.0, self.made.scale_mm]))
        slot, saddle = slot_mm + ends[0], saddle_mm + ends[1]
        return np.asarray(slot + x_mm / self.made.scale_mm * (saddle - slot), dtype=float)

    @property
    def _radius_mm(self) -> FloatArray:
        return 0.5 * 25.4 * np.array(self.made.gauges_in)


def strings_as_found(scenario: Scenario, strung: Neck, at_pitch: StringSet) -> Strings:
    """Strings that stand over frets 1 and 12 of the neck as found by what its owner measured."""
    x_mm = strung.fret_x_mm[[0, 11]]
    tops_mm = strung.tops_under_strings_mm()[[0, 11]]
    over = tops_mm + np.stack([scenario.nut_gap_mm, scenario.action_mm])
    slope = (over[1] - over[0]) / (x_mm[1] - x_mm[0])
    scale_mm = scenario.instrument.scale_mm
    ends = strung.shape.centre_mm(np.array([0.0, scale_mm]))
    slot = over[0] - slope * x_mm[0] - ends[0]
    saddle = over[0] + slope * (scale_mm - x_mm[0]) - ends[1]
    return Strings(scenario.instrument, at_pitch, slot, saddle)
