"""Crowns on a sloping board: their highest point lies beside their middle."""

from __future__ import annotations

import numpy as np

from analysis.instrument import FloatArray

#: Uncertainty of the lean of one crown: a slot is some millimetres long, the wood there uneven by
#: a micrometre or two (own estimate), mm/mm.
U_LEAN = 3e-4


def chord_slope(x_mm: FloatArray, board_mm: FloatArray) -> float:
    """dz/dx of the line through the board under the first and the last fret, median of the lanes.

    x_mm, board_mm: [frets, lanes], NaN where the board is not known. 0 where no lane shows two
    frets.
    """
    slopes = []
    for x, z in zip(x_mm.T, board_mm.T, strict=True):
        seen = np.flatnonzero(np.isfinite(z))
        if seen.size > 1:
            first, last = seen[0], seen[-1]
            slopes.append((z[last] - z[first]) / (x[last] - x[first]))
    return float(np.median(slopes)) if slopes else 0.0


def lean_of(slope: FloatArray, chord: float) -> FloatArray:
    """Of each crown as the board leans there; that of the chord where it is not known."""
    return np.where(np.isfinite(slope), slope, chord)


def rise_mm(lean: FloatArray, flat_mm: FloatArray, radius_mm: FloatArray) -> FloatArray:
    """How much higher than its middle the highest point of a leaning crown lies.

    Geometry: the edge of its flat, |lean| flat / 2 higher; or, where the flat is narrower than
    that, where the circle lies level, |lean| radius off the middle.
    """
    half, lean = 0.5 * flat_mm, np.abs(lean)
    level = np.maximum(half, radius_mm * lean / np.sqrt(1.0 + lean**2))
    fall = np.sqrt(radius_mm**2 - half**2) - np.sqrt(radius_mm**2 - level**2)
    return np.asarray(lean * level - fall)
