"""The carriage: the move it is on, and the one before it for a sensor that lags."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sim.instrument import FloatArray
from sim.motion import Move, Play, standing
from sim.rail import Rail
from sim.rigspec import RigSpec
from sim.trace import Line


class Carriage:
    """Counted mm on the outside; true mm is what the sensor and the surface see."""

    def __init__(self, spec: RigSpec, rail: Rail, play: Play) -> None:
        self._spec = spec
        self._rail = rail
        self._play = play
        self._before = self._move = standing(0.0, (0.0, 0.0), 0.0, play)
        self.park(0.0)

    def park(self, t_s: float) -> None:
        """Against its end stop, counts at zero, the play taken up on that side."""
        at_stop_mm = float(self._play.half_mm(0.0))
        self._before = self._move = standing(t_s, (0.0, 0.0), at_stop_mm, self._play)

    @property
    def end_s(self) -> float:
        """When the present move ends, device seconds."""
        return self._move.end_s

    @property
    def target_mm(self) -> tuple[float, float]:
        return self._move.to_mm

    def line_from(self, t_s: float) -> Line:
        """The line it runs over from then on, true mm; a point where it has arrived."""
        arrived = t_s >= self._move.end_s
        return self._line(self._move.to_mm if arrived else self._move.from_mm, self._move.to_mm)

    def line_to(self, t_s: float, to_mm: tuple[float, float]) -> Line:
        """The line that a move begun then would run over, true mm."""
        return self._line(self._move.stopped(t_s).from_mm, to_mm)

    def _line(self, from_mm: tuple[float, float], to_mm: tuple[float, float]) -> Line:
        (x0, y0), (x1, y1) = from_mm, to_mm
        ends = self._rail.true_mm(np.array([x0, x1]))
        return Line(float(ends[0]), y0, float(ends[1]), y1)

    def start(
        self, t_s: float, to_mm: tuple[float, float], speed_mm_s: float, uneven: float = 0.0
    ) -> None:
        here = self._move.stopped(t_s)
        self._before = self._move
        self._move = Move(
            start_s=t_s,
            from_mm=here.from_mm,
            to_mm=to_mm,
            speed_mm_s=speed_mm_s,
            acceleration_mm_s2=self._spec.acceleration_mm_s2,
            carriage_mm=here.carriage_mm,
            play=self._play,
            uneven=uneven,
        )

    def set_cross(self, t_s: float, y_mm: float) -> None:
        """At rest, by hand."""
        here = self._move.stopped(t_s)
        self._before = self._move = replace(
            here, from_mm=(here.from_mm[0], y_mm), to_mm=(here.to_mm[0], y_mm)
        )

    def stop(self, t_s: float) -> None:
        """At once, wherever it is."""
        self._before, self._move = self._move, self._move.stopped(t_s)

    def counts(self, t_s: FloatArray) -> tuple[FloatArray, FloatArray]:
        """x and y counts at device times, whole numbers."""
        x_mm, y_mm = self._move.counted_mm(t_s)
        return np.rint(x_mm / self._spec.mm_per_x_count), np.rint(y_mm / self._spec.mm_per_y_count)

    def true_mm(self, t_s: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Where the sensor really was at device times, those just before this move too."""
        now = t_s >= self._move.start_s
        counted = np.where(now, self._move.carriage_x_mm(t_s), self._before.carriage_x_mm(t_s))
        y_mm = np.where(now, self._move.counted_mm(t_s)[1], self._before.counted_mm(t_s)[1])
        return self._rail.true_mm(counted), y_mm
