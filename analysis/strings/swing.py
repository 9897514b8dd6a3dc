"""How deep a string comes, plucked either way, stiffness and all."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray
from analysis.strings.envelope import envelope_mm, pluck_height_mm, pushed_mm
from analysis.strings.stiffness import stiff_swing_mm


@dataclass(frozen=True, slots=True)
class Swing:
    """How deep a string comes, in parts that add up; any shape, mm.

    away_mm: the ideal string pulled away from the frets (METHODS 15). pushed_mm: what it comes
    deeper where it is pushed towards them instead. stiff_mm: what stiffness may add.
    """

    away_mm: FloatArray
    pushed_mm: FloatArray
    stiff_mm: FloatArray

    @property
    def beyond_mm(self) -> FloatArray:
        """All that comes on top of the ideal pluck away from the frets."""
        return np.asarray(self.pushed_mm + self.stiff_mm)


def swing(
    force_n: float,
    from_saddle_mm: float,
    tension_n: FloatArray,
    mass_kg_per_m: FloatArray,
    bending_nm2: FloatArray,
    along_mm: FloatArray,
    length_mm: FloatArray,
) -> Swing:
    """How deep a string plucked either way comes, along_mm from its fret. All broadcast.

    A player plucks either way, and what starts away from the frets turns towards them as a
    string's swing turns about its axis: both shapes count, whichever is deeper.
    """
    height = pluck_height_mm(force_n, tension_n, length_mm, from_saddle_mm)
    away = envelope_mm(height, along_mm, length_mm, from_saddle_mm)
    deeper = np.maximum(away, pushed_mm(height, along_mm, length_mm, from_saddle_mm))
    stiff = stiff_swing_mm(deeper, force_n, tension_n, mass_kg_per_m, bending_nm2, length_mm)
    return Swing(away, deeper - away, stiff)
