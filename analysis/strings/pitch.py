"""Note names to frequencies."""

from __future__ import annotations

import re

A4_HZ = 440.0
NOTE = re.compile(r"([A-G])([#b]?)([0-8])")
SEMITONES_ABOVE_C = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
SHIFT = {"": 0, "#": 1, "b": -1}


def note_frequency_hz(note: str) -> float:
    """The frequency of a note such as E4, C#4 or Bb3, in Hz.

    Equal temperament, f = 440 Hz · 2^(n/12) with n semitones above A4; A4 = 440 Hz by ISO 16.
    Octaves change at C and C4 is middle C (scientific pitch notation).
    Raises ValueError for anything that is no such name.
    """
    match = NOTE.fullmatch(note)
    if match is None:
        raise ValueError(f"{note!r} is no note such as E4, C#4 or Bb3")
    letter, accidental, octave = match.groups()
    above_c0 = 12 * int(octave) + SEMITONES_ABOVE_C[letter] + SHIFT[accidental]
    # A4 lies 4 octaves and 9 semitones above C0
    return float(A4_HZ * 2.0 ** ((above_c0 - 57) / 12))
