"""Moves: a carriage that speeds up, runs and slows down, and its play behind the counts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.instrument import FloatArray


@dataclass(frozen=True, slots=True)
class Play:
    """Between counts and carriage, half on either side; at counted x = 0, and more per mm."""

    at_start_mm: float
    more_per_mm: float = 0.0

    def half_mm(self, x_mm: FloatArray | float) -> FloatArray:
        return np.asarray(0.5 * (self.at_start_mm + self.more_per_mm * x_mm), dtype=float)


@dataclass(frozen=True, slots=True)
class Move:
    """One straight move in counted mm, from a standstill to a standstill.

    carriage_mm: where the carriage really stood in x when it began; it stays there until
    the play is taken up. uneven: 0 for a motor, up to 0.9 for a hand.
    """

    start_s: float
    from_mm: tuple[float, float]
    to_mm: tuple[float, float]
    speed_mm_s: float
    acceleration_mm_s2: float
    carriage_mm: float
    play: Play
    uneven: float = 0.0

    @property
    def length_mm(self) -> float:
        """Along the axis that travels further: speeds are the lead screw's own."""
        return max(abs(self.to_mm[0] - self.from_mm[0]), abs(self.to_mm[1] - self.from_mm[1]))

    @property
    def _ramp_s(self) -> float:
        full = self.speed_mm_s / self.acceleration_mm_s2
        return min(full, float(np.sqrt(self.length_mm / self.acceleration_mm_s2)))

    @property
    def _run_s(self) -> float:
        top_mm_s = self._ramp_s * self.acceleration_mm_s2
        return self.length_mm / top_mm_s - self._ramp_s if top_mm_s > 0.0 else 0.0

    @property
    def end_s(self) -> float:
        return self.start_s + 2.0 * self._ramp_s + self._run_s

    def counted_mm(self, t_s: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Counted x and y at device times, held at the ends before and after."""
        share = self._share(t_s)
        (x0, y0), (x1, y1) = self.from_mm, self.to_mm
        return x0 + (x1 - x0) * share, y0 + (y1 - y0) * share

    def carriage_x_mm(self, t_s: FloatArray) -> FloatArray:
        """Where the carriage is behind the play, still in counted mm."""
        x_mm, _ = self.counted_mm(t_s)
        if self.to_mm[0] > self.from_mm[0]:
            return np.maximum(self.carriage_mm, x_mm - self.play.half_mm(x_mm))
        if self.to_mm[0] < self.from_mm[0]:
            return np.minimum(self.carriage_mm, x_mm + self.play.half_mm(x_mm))
        return np.full_like(x_mm, self.carriage_mm)

    def stopped(self, t_s: float) -> Move:
        """Standing where it was at t_s, from then on."""
        now = np.array([t_s])
        x_mm, y_mm = (float(axis[0]) for axis in self.counted_mm(now))
        carriage_mm = float(self.carriage_x_mm(now)[0])
        return standing(t_s, (x_mm, y_mm), carriage_mm, self.play)

    def _share(self, t_s: FloatArray) -> FloatArray:
        """0 to 1 along the move: a trapezoid of speed, a triangle where it is short."""
        if self.length_mm == 0.0:
            return np.ones_like(t_s)
        ramp, run, rate = self._ramp_s, self._run_s, self.acceleration_mm_s2
        since = self._jolted_s(np.clip(t_s - self.start_s, 0.0, 2.0 * ramp + run))
        speeding = np.minimum(since, ramp)
        running = np.clip(since - ramp, 0.0, run)
        slowing = np.clip(since - ramp - run, 0.0, ramp)
        gone = 0.5 * rate * speeding**2 + rate * ramp * (running + slowing)
        return np.asarray((gone - 0.5 * rate * slowing**2) / self.length_mm, dtype=float)

    def _jolted_s(self, since_s: FloatArray) -> FloatArray:
        """A hand speeds up and slows down on the way, and never goes back."""
        whole_s = self.end_s - self.start_s
        turn = 2.0 * np.pi * since_s / whole_s
        wave = 0.6 * np.sin(3.0 * turn) / 3.0 + 0.4 * np.sin(11.0 * turn) / 11.0
        return np.asarray(since_s - self.uneven * whole_s * wave / (2.0 * np.pi), dtype=float)


def standing(t_s: float, at_mm: tuple[float, float], carriage_mm: float, play: Play) -> Move:
    """A move of no length."""
    return Move(t_s, at_mm, at_mm, 1.0, 1.0, carriage_mm, play)
