"""The instrument the simulated job is about: nominal geometry, as its file would give it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Instrument:
    """Six strings on one scale. x from the nut towards the bridge, y towards string 1."""

    name: str = "walnut parlour"
    scale_mm: float = 641.0
    frets: int = 22
    body_joint_fret: int = 16
    board_radius_mm: tuple[float, float] = (241.0, 355.0)
    board_width_mm: tuple[float, float] = (42.8, 56.4)
    board_past_last_fret_mm: float = 9.0
    nut_at_mm: float = 61.0
    notes: tuple[str, ...] = ("E4", "B3", "G3", "D3", "A2", "E2")
    gauges_in: tuple[float, ...] = (0.010, 0.013, 0.017, 0.026, 0.036, 0.046)
    plain_strings: int = 3
    spacing_mm: tuple[float, float] = (7.1, 10.4)
    action_mm: tuple[float, float] = (1.4, 1.9)
    nut_gap_mm: tuple[float, float] = (0.4, 0.5)

    @property
    def strings(self) -> int:
        return len(self.notes)

    @property
    def fret_x_mm(self) -> FloatArray:
        """float[frets], equal temperament."""
        return self.scale_mm * (1.0 - 2.0 ** (-np.arange(1, self.frets + 1) / 12.0))

    @property
    def joint_x_mm(self) -> float:
        return float(self.fret_x_mm[self.body_joint_fret - 1])

    @property
    def board_end_x_mm(self) -> float:
        return float(self.fret_x_mm[-1]) + self.board_past_last_fret_mm

    def string_y_mm(self, x_mm: FloatArray) -> FloatArray:
        """float[..., strings]: where each string runs across the board at x."""
        share = np.asarray(x_mm, dtype=float)[..., np.newaxis] / self.scale_mm
        spacing = self.spacing_mm[0] + share * (self.spacing_mm[1] - self.spacing_mm[0])
        places = 0.5 * (self.strings + 1) - np.arange(1, self.strings + 1)
        return np.asarray(spacing * places, dtype=float)

    def radius_mm(self, x_mm: FloatArray) -> FloatArray:
        """The board's radius, linear from the nut to the last fret and on."""
        nut, last = self.board_radius_mm
        return np.asarray(nut + (last - nut) * x_mm / self.fret_x_mm[-1], dtype=float)

    def half_width_mm(self, x_mm: FloatArray) -> FloatArray:
        nut, last = self.board_width_mm
        return np.asarray(0.5 * (nut + (last - nut) * x_mm / self.fret_x_mm[-1]), dtype=float)

    def per_string(self, first_last: tuple[float, float]) -> FloatArray:
        """float[strings]: what the file gives for the outer strings, interpolated by number."""
        return np.linspace(first_last[0], first_last[1], self.strings)
