"""The instrument on the bench, as numbers: what its file says, with every string filled in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.floating[Any]]


@dataclass(frozen=True, slots=True)
class StringSpec:
    """One string. mass_kg_per_m and core_mm are None where they must come from the diameter.

    material: of the string, or of a wound one's core; a name of analysis.strings.materials.
    core_mm: what pulls under the winding; a plain string is all core.
    """

    note: str
    frequency_hz: float
    diameter_mm: float
    wound: bool
    mass_kg_per_m: float | None = None
    material: str = "steel"
    core_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Instrument:
    """All lengths in mm. String 1 is the first of `strings` and lies at the largest y.

    compensation_mm: how far each saddle lies past the scale length; none given, none at all. Frets
    stay where the scale has them. u_action_mm: standard uncertainty of the string heights, which
    are measured by hand.
    """

    name: str
    scale_bass_mm: float
    scale_treble_mm: float
    square_fret: int
    frets: int
    body_joint_fret: int
    board_radius_mm: tuple[float, float]
    board_width_mm: tuple[float, float]
    nut_at_mm: float
    strings: tuple[StringSpec, ...]
    spacing_mm: tuple[float, float]
    action_mm: tuple[float, ...]
    nut_gap_mm: tuple[float, ...]
    compensation_mm: tuple[float, ...] = ()
    #: common practice, no source
    u_action_mm: float = 0.02

    @property
    def string_numbers(self) -> FloatArray:
        """float[strings]: 1, 2, ... as players number them."""
        return np.arange(1, len(self.strings) + 1, dtype=float)

    def scale_mm(self, string: FloatArray | float) -> FloatArray:
        """Scale length under a string, linear from treble (string 1) to bass (the last)."""
        last = len(self.strings)
        share = (np.asarray(string, dtype=float) - 1.0) / max(last - 1, 1)
        return np.asarray(
            self.scale_treble_mm + share * (self.scale_bass_mm - self.scale_treble_mm)
        )

    def fret_x_mm(self, fret: FloatArray | float, string: FloatArray | float) -> FloatArray:
        """Distance along the neck from the nut of the centre line to a fret under a string.

        Equal temperament, L (1 - 2^(-n/12)); on fanned scales the strings agree in x at the
        square fret. Broadcasts `fret` against `string`.
        """
        middle = 0.5 * (self.scale_bass_mm + self.scale_treble_mm)
        part = 1.0 - 2.0 ** (-np.asarray(fret, dtype=float) / 12.0)
        at_square = 1.0 - 2.0 ** (-self.square_fret / 12.0)
        return np.asarray(self.scale_mm(string) * (part - at_square) + middle * at_square)

    def saddle_x_mm(self, string: FloatArray | float) -> FloatArray:
        """Where the string ends, same frame as `fret_x_mm`: its scale length, and what its saddle
        lies past that; the scale length alone is where frets without end would lead."""
        middle = 0.5 * (self.scale_bass_mm + self.scale_treble_mm)
        at_square = 1.0 - 2.0 ** (-self.square_fret / 12.0)
        scale_end = self.scale_mm(string) * (1.0 - at_square) + middle * at_square
        return np.asarray(scale_end + self._past_scale_mm(string))

    def speaking_mm(self, string: FloatArray | float) -> FloatArray:
        """The open string, from the nut to its own saddle."""
        return np.asarray(self.scale_mm(string) + self._past_scale_mm(string))

    def _past_scale_mm(self, string: FloatArray | float) -> FloatArray:
        past = self.compensation_mm or (0.0,) * len(self.strings)
        at = np.interp(np.asarray(string, dtype=float), self.string_numbers, past)
        return np.asarray(at)

    def board_made_mm(self, x_mm: FloatArray) -> FloatArray:
        """Radius the file gives the board at a place along the neck, straight from the nut to
        the last fret."""
        middle = 0.5 * (len(self.strings) + 1)
        nut, last = self.board_radius_mm
        return np.asarray(nut + x_mm / self.fret_x_mm(self.frets, middle) * (last - nut))

    def string_y_mm(self, string: FloatArray | float, x_mm: FloatArray | float) -> FloatArray:
        """Where a string runs across the board, the fan linear from nut to bridge."""
        middle = 0.5 * (self.scale_bass_mm + self.scale_treble_mm)
        share = np.asarray(x_mm, dtype=float) / middle
        spacing = self.spacing_mm[0] + share * (self.spacing_mm[1] - self.spacing_mm[0])
        centre = 0.5 * (len(self.strings) + 1)
        return np.asarray((centre - np.asarray(string, dtype=float)) * spacing)


def joint_mm(instrument: Instrument) -> float:
    """Where the neck meets the body, along the centre line: the body-joint fret's place."""
    middle = 0.5 * (len(instrument.strings) + 1)
    return float(instrument.fret_x_mm(instrument.body_joint_fret, middle))
