"""A lane's frets on the carriage, and what a lane is called."""

from __future__ import annotations

import numpy as np

from analysis.instrument import FloatArray, Instrument
from analysis.pattern.registration import Registration


def lane_places_mm(
    string: FloatArray, registration: Registration, instrument: Instrument
) -> FloatArray:
    """Where the carriage stands over the frets under strings [n]: [n, frets]."""
    frets = np.arange(1, instrument.frets + 1, dtype=float)
    under = string[:, None]
    return registration.carriage_mm(instrument.fret_x_mm(frets, under), under)


def lane_words(string: float) -> str:
    """the lane under string 2; the lane between strings 2 and 3."""
    if float(string).is_integer():
        return f"the lane under string {string:.0f}"
    return f"the lane between strings {np.floor(string):.0f} and {np.ceil(string):.0f}"
