"""Fret crowns: worn tops across the board, flats, and what cuts have taken off.

A crown is a circle along x, cut off flat where wear went below it. A cut lowers the top by
exactly what was removed and re-crowns: a flat shallower than the cut is gone, a deeper one
is left that much shallower, on a crown of the same radius.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sim.instrument import FloatArray
from sim.scenario import Frets

IntArray = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Crowns:
    """string_y_mm, removed_mm: float[frets, strings], evenly spaced in y on each fret."""

    frets: Frets
    string_y_mm: FloatArray
    removed_mm: FloatArray

    def top_over_board_mm(self, fret: IntArray, y_mm: FloatArray) -> FloatArray:
        """The middle of each crown over the board there. fret counts from 0."""
        unworn = self.frets.height_mm[fret] + self.frets.lean[fret] * y_mm
        return np.asarray(
            unworn - self._worn(self.frets.dent_mm, fret, y_mm) - self._removed(fret, y_mm),
            dtype=float,
        )

    def below_top_mm(self, fret: IntArray, along_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        """How far the surface lies below the top, along_mm from the fret's middle."""
        radius = self.frets.crown_radius_mm[fret]
        inside = np.clip(radius**2 - along_mm**2, 0.0, None)
        circle = radius - np.sqrt(inside) - self.flat_depth_mm(fret, y_mm)
        return np.where(np.abs(along_mm) < radius, np.maximum(circle, 0.0), np.inf)

    def rise_mm(self, fret: IntArray, y_mm: FloatArray, slope: FloatArray) -> FloatArray:
        """How much higher than its middle the highest point of a crown lies that leans by slope.

        The edge of its flat, or, where that is too narrow, where the circle lies level.
        """
        half = 0.5 * self.flat_width_mm(fret, y_mm)
        radius = self.frets.crown_radius_mm[fret]
        lean = np.abs(slope)
        level = np.maximum(half, radius * lean / np.sqrt(1.0 + lean**2))
        fall = np.sqrt(radius**2 - half**2) - np.sqrt(radius**2 - level**2)
        return np.asarray(lean * level - fall, dtype=float)

    def flat_depth_mm(self, fret: IntArray, y_mm: FloatArray) -> FloatArray:
        """How deep below the crown circle's apex the flat lies; 0 on a round crown."""
        worn = self._worn(self.frets.flat_mm, fret, y_mm)
        return np.asarray(np.clip(worn - self._removed(fret, y_mm), 0.0, None), dtype=float)

    def flat_width_mm(self, fret: IntArray, y_mm: FloatArray) -> FloatArray:
        depth = self.flat_depth_mm(fret, y_mm)
        radius = self.frets.crown_radius_mm[fret]
        return np.asarray(2.0 * np.sqrt(depth * (2.0 * radius - depth)), dtype=float)

    def _worn(self, depth_mm: FloatArray, fret: IntArray, y_mm: FloatArray) -> FloatArray:
        away = (y_mm[:, np.newaxis] - self.string_y_mm[fret]) / self.frets.dent_sigma_mm
        return np.asarray(np.sum(depth_mm[fret] * np.exp(-0.5 * away**2), axis=1), dtype=float)

    def _removed(self, fret: IntArray, y_mm: FloatArray) -> FloatArray:
        """Linear across y between strings, constant outside the outer two."""
        last = self.string_y_mm.shape[1] - 1
        first_y = self.string_y_mm[fret, 0]
        spacing = (first_y - self.string_y_mm[fret, last]) / last
        place = np.clip((first_y - y_mm) / spacing, 0.0, last)
        low = np.minimum(place.astype(np.intp), last - 1)
        share = place - low
        below, above = self.removed_mm[fret, low], self.removed_mm[fret, low + 1]
        return np.asarray(below + share * (above - below), dtype=float)
