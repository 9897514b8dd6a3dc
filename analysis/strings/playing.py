"""How hard and where a player plays, as numbers."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
BUILT_IN = ("gentle", "everyday", "hard")


@dataclass(frozen=True, slots=True)
class PlayingProfile:
    """What a player asks of an instrument.

    bend_semitones: the widest bend; bend_frets: (from, to), where it is made, None everywhere.
    least_fret_mm: the fret height the fingers still need; least_bending_fret_mm: what a finger
    needs that bends, where bends are made; None no more than the others.
    highest_action_mm: string number -> the highest action over fret 12 the player accepts.
    guard: how many standard uncertainties a margin must clear (ISO 14253-1).
    """

    name: str
    pluck_force_n: float
    pluck_from_saddle_mm: float
    bend_semitones: float
    least_fret_mm: float
    highest_action_mm: dict[int, float]
    guard: float
    least_bending_fret_mm: float | None = None
    bend_frets: tuple[int, int] | None = None

    def bends(self, frets: int) -> NDArray[np.bool_]:
        """bool[frets]: where strings are bent."""
        first, last = self.bend_frets or (1, frets)
        fret = np.arange(1, frets + 1)
        return (self.bend_semitones > 0) & (fret >= first) & (fret <= last)

    def least_height_mm(self, frets: int) -> FloatArray:
        """float[frets]: the height each fret must keep, a bending finger's where one bends."""
        bending = max(self.least_bending_fret_mm or 0.0, self.least_fret_mm)
        return np.where(self.bends(frets), bending, self.least_fret_mm)

    def frets_left(self, by_mm: float) -> PlayingProfile:
        """One who needs frets so much higher; a bending finger too."""
        bending = self.least_bending_fret_mm
        return replace(
            self,
            least_fret_mm=self.least_fret_mm + by_mm,
            least_bending_fret_mm=None if bending is None else bending + by_mm,
        )

    def highest_action(self, strings: int) -> FloatArray:
        """float[strings], mm: linear by string number between those given, flat past the ends."""
        given = sorted(self.highest_action_mm)
        heights = [self.highest_action_mm[string] for string in given]
        numbers = np.arange(1, strings + 1, dtype=float)
        return np.asarray(np.interp(numbers, given, heights), dtype=float)


def built_in_profile(name: str, strings: int) -> PlayingProfile:
    """One of the profiles that come with the program, for a steel-strung guitar of so many strings.

    `analysis.strings.kinds.profile_for` fits it to other instruments. Common practice, no
    source; values from memory. Raises KeyError for a name not in BUILT_IN.
    """
    last = max(strings, 2)
    profiles = {
        "gentle": PlayingProfile("gentle", 0.35, 130.0, 1.0, 0.6, {1: 1.6, last: 2.0}, 2.0),
        "everyday": PlayingProfile("everyday", 0.5, 120.0, 2.0, 0.6, {1: 1.7, last: 2.2}, 2.0),
        "hard": PlayingProfile("hard", 0.65, 110.0, 2.0, 0.6, {1: 2.3, last: 2.9}, 2.0),
    }
    return profiles[name]
