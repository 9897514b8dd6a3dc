"""What the sensor meets under a carriage that nobody foretells: the chip alone knows its moves.

A surface along a line is costly to make. The moves that go past on the wire say which lines will
be worth it; whatever the chip does instead is read from a short piece made where it stands.
"""

from __future__ import annotations

import numpy as np

from sim.bench import Bench
from sim.instrument import FloatArray
from sim.limits import Refusal, move_target
from sim.trace import Line

# How far from a line it still holds: the slopes across are a tenth at most.
NEAR_MM = 0.03
PIECE_MM = 1.0


class Surface:
    """Reads at true places, one at a time."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self._line = Line(0.0, 0.0, 0.0, 0.0)

    def expect(self, from_mm: tuple[float, float], fields: tuple[str, ...]) -> None:
        """A move from these counted mm, as the host asks for it; nonsense is the chip's affair."""
        try:
            to_mm = move_target(fields, from_mm, self._bench.spec).to_mm
        except Refusal:
            return
        ends = self._bench.rail.true_mm(np.array([from_mm[0], to_mm[0]]))
        self._line = Line(float(ends[0]), from_mm[1], float(ends[1]), to_mm[1])

    def read_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        """float[1] each."""
        x, y = float(x_mm[0]), float(y_mm[0])
        line = self._line if _is_near(self._line, x, y) else _piece(x, y)
        return self._bench.trace(line).read_mm(x_mm, y_mm)


def _is_near(line: Line, x_mm: float, y_mm: float) -> bool:
    low, high = sorted((line.x0_mm, line.x1_mm))
    if not (line.along_x and low < high and low - PIECE_MM <= x_mm <= high + PIECE_MM):
        return False
    return abs(float(line.y_mm(np.array([x_mm]))[0]) - y_mm) <= NEAR_MM


def _piece(x_mm: float, y_mm: float) -> Line:
    """On a grid, so that the next reading finds it again."""
    x, y = PIECE_MM * round(x_mm / PIECE_MM), NEAR_MM * round(y_mm / NEAR_MM)
    return Line(x - PIECE_MM, y, x + PIECE_MM, y)
