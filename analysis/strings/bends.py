"""Bends: how far a finger pushes a string aside, and which way it can."""

from __future__ import annotations

import numpy as np

from analysis.instrument import FloatArray
from analysis.strings.strings import StringLoad

#: No finger pushes a string further than this, mm (common practice, no source).
WIDEST_BEND_MM = 12.0
#: String past nut and saddle that stretches along, mm (own estimate: a hand's breadth to the
#: tuner and the anchor together; that it slides through freely is the further push).
BEYOND_MM = 100.0


def bent_tension_n(tension: float, semitones: float) -> float:
    """Tension at the bent pitch: frequency goes with the root of tension."""
    return float(tension * 2.0 ** (semitones / 6.0))


def bend_mm(
    load: StringLoad,
    length_mm: float,
    fret_mm: FloatArray,
    semitones: float,
    beyond_mm: float = BEYOND_MM,
) -> FloatArray:
    """How far a finger at a fret pushes the string aside for a bend, WIDEST_BEND_MM at most.

    The tension of the bent pitch asks for a stretch; nut and saddle are the foci of the ellipse
    on which both parts together have just that length S, and the push is its height over the
    fret: h^2 = (S^2 - L^2)/4 (1 - ((2 a - L)/S)^2), a from the nut. The lengths in full, not the
    first term of their squares, (h^2/2)(1/a + 1/b): that is 1.3 % off in h at 12 mm over fret 1.
    That the sounding part grows longer, and lighter, is a cent or less: left out. fret_mm:
    distance of the fret from the nut.
    """
    rise = bent_tension_n(load.tension_n, semitones) - load.tension_n
    whole = length_mm + rise / load.stiffness_n * (length_mm + beyond_mm)
    height = (whole**2 - length_mm**2) / 4.0
    push = np.sqrt(height * (1.0 - ((2.0 * fret_mm - length_mm) / whole) ** 2))
    return np.asarray(np.minimum(push, WIDEST_BEND_MM))


def pushed_tension_n(
    load: StringLoad,
    length_mm: float,
    fret_mm: FloatArray,
    push_mm: FloatArray,
    beyond_mm: float = BEYOND_MM,
) -> FloatArray:
    """Tension of the string pushed aside at a fret: `bend_mm` the other way round.

    S - L without the loss of digits of a difference: h^2 over the sum of each part's two lengths.
    """
    near, far = fret_mm, length_mm - fret_mm
    square = push_mm**2
    stretch = square / (np.hypot(near, push_mm) + near) + square / (np.hypot(far, push_mm) + far)
    return np.asarray(load.tension_n + load.stiffness_n * stretch / (length_mm + beyond_mm))


def bend_sides(string: int, strings: int) -> tuple[int, ...]:
    """Ways a string is bent, in the sense of y: -1 towards the bass, 1 towards the treble.

    The outer thirds of the strings are bent inwards, for outwards they would leave the board; the
    others either way (common practice, no source).
    """
    if 3 * string <= strings:
        return (-1,)
    if 3 * (strings + 1 - string) <= strings:
        return (1,)
    return (-1, 1)
