"""What the places that a board tells say of its motion."""

from __future__ import annotations

from dataclasses import dataclass

from daq.wire.gcode.axes import Axes, Counts

STILL_S = 2.0
"""A board that has not gone on for so long has ended its move: common practice, no source."""
TWICE_S = 0.05
"""Two places alike, so far apart, are of a carriage that stands."""
SPARE_MM = 10.0
TIMES_SPEED = 3.0


@dataclass(slots=True)
class Stand:
    """at: the last place told, None before one was. since_s: it has been told since.
    last_s: when it was told last. came_us: when that arrived, as samples have it, which may be
    long before it was looked at."""

    axes: Axes
    at: Counts | None = None
    since_s: float = 0.0
    last_s: float = 0.0
    came_us: int = 0

    def seen(self, at: Counts, when_s: float, came_us: int) -> None:
        """A place was told."""
        if at != self.at:
            self.at, self.since_s = at, when_s
        self.last_s, self.came_us = when_s, came_us

    def forget(self) -> None:
        """It may be anywhere: it was reset, or moved otherwise."""
        self.at = None

    @property
    def still_s(self) -> float:
        """For how long it has been told to be in one place."""
        return self.last_s - self.since_s if self.at is not None else 0.0

    def leaps(self, to: Counts, came_us: int, mm_s: float) -> bool:
        """Whether no carriage gets there since: at the speed it was told, and much to spare."""
        if self.at is None:
            return False
        way_mm = abs(to[0] - self.at[0]) * self.axes.along.mm_per_count
        passed_s = (came_us - self.came_us) % 2**32 * 1e-6
        return way_mm > SPARE_MM + TIMES_SPEED * mm_s * passed_s
