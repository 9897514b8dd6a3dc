"""How deep a plucked string swings, as if it had no stiffness."""

from __future__ import annotations

import numpy as np

from analysis.instrument import FloatArray


def pluck_height_mm(
    force_n: float, tension_n: FloatArray, length_mm: FloatArray, from_saddle_mm: float
) -> FloatArray:
    """Corner height of a string pulled aside: h = F p (l - p) / (T l).

    Static balance of the two straight parts. p: see `pluck_point_mm`.
    """
    p = pluck_point_mm(length_mm, from_saddle_mm)
    return np.asarray(force_n * p * (length_mm - p) / (tension_n * length_mm))


def envelope_mm(
    height_mm: FloatArray, from_fret_mm: FloatArray, length_mm: FloatArray, from_saddle_mm: float
) -> FloatArray:
    """Deepest swing of a string pulled away from the frets: h min(s / p, (l - s) / (l - p)).

    The first shape turned about the string's middle (d'Alembert): after half a period
    u(x) = -u0(l - x), and no other moment goes deeper. s: distance from the fret. Pulled towards
    the frets it is the first shape itself, that of a pluck as far from the fret as p from the
    saddle.
    """
    p = pluck_point_mm(length_mm, from_saddle_mm)
    s = from_fret_mm
    return np.asarray(height_mm * np.minimum(s / p, (length_mm - s) / (length_mm - p)))


def pluck_point_mm(length_mm: FloatArray, from_saddle_mm: float) -> FloatArray:
    """Pluck point from the saddle; the middle of a string fretted nearer than the pluck."""
    return np.where(length_mm > from_saddle_mm, from_saddle_mm, length_mm / 2.0)
