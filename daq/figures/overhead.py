"""Where an instrument's frets and strings lie in a drawing of its neck from above."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import Instrument
from daq.figures.axes import LEFT, RIGHT, TOP, WIDTH, Axis, Frame

#: A string's strip is drawn this wide: few strings have more room.
_FEW, _STRIP_FEW, _STRIP = 6, 30.0, 22.0
#: Room at the right for the strings' numbers, under the board for the joint's name.
_NAMES, _JOINT = 66.0, 24.0


@dataclass(frozen=True, slots=True)
class Plan:
    """Where things of one instrument lie in the drawing."""

    it: Instrument
    frame: Frame

    def point(self, fret: float, string: float) -> tuple[float, float]:
        """A place on the board, kept within its edges; fret and string may lie between two."""
        x = float(self.it.fret_x_mm(fret, string))
        edge = self.edge_mm(x)
        y = float(np.clip(self.it.string_y_mm(string, x), -edge, edge))
        return self.frame.x.at(x), self.frame.y.at(y)

    def edge_mm(self, x_mm: float) -> float:
        """Half the board's width."""
        return half_width_mm(self.it, x_mm)

    def across(self, fret: float) -> list[tuple[float, float]]:
        """A fret from one edge of the board to the other, on through the outer strings."""
        strings = len(self.it.strings)
        ends = np.array([0.5, strings + 0.5])
        return [self.point(fret, float(s)) for s in ends]


def half_width_mm(it: Instrument, x_mm: float) -> float:
    """Half the board's width, linear from the nut to the last fret of the centre line."""
    last = float(it.fret_x_mm(it.frets, 0.5 * (len(it.strings) + 1)))
    nut, end = it.board_width_mm
    return 0.5 * (nut + x_mm / last * (end - nut))


def plan_frame(it: Instrument, top: float = TOP) -> Frame:
    strings = np.array([0.5, len(it.strings) + 0.5])
    low = float(np.min(it.fret_x_mm(0.0, strings)))
    high = float(np.max(it.fret_x_mm(it.frets + 0.5, strings)))
    strip = _STRIP_FEW if len(it.strings) <= _FEW else _STRIP
    half = half_width_mm(it, high) * 1.06
    tall = max(strip * len(it.strings), 4 * _STRIP_FEW) + _JOINT
    # the joint's name stands under the board
    below = half * (1.0 + 2.0 * _JOINT / tall)
    across = Axis(low - 2.0, high, LEFT, WIDTH - RIGHT - _NAMES)
    return Frame(across, Axis(-below, half, top + tall, top))
