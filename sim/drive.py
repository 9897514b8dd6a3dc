"""What moves the carriage, motor or hand: one move at a time, and how it ends."""

from __future__ import annotations

import numpy as np

from sim.carriage import Carriage

Point = tuple[float, float]


class Drive:
    """A move ends with the word it set off with; a hand's ends with none."""

    def __init__(self, carriage: Carriage) -> None:
        self._carriage = carriage
        self._ends_with: str | None = None
        self._stops_s = np.inf
        self._stall_next = False

    @property
    def moving(self) -> bool:
        return self._ends_with is not None

    @property
    def stops_s(self) -> float:
        """When the present move ends or gets stuck, device seconds; inf at rest."""
        return self._stops_s if self.moving else np.inf

    def set_off(self, now_s: float, to_mm: Point, speed_mm_s: float, ends_with: str) -> None:
        self._carriage.start(now_s, to_mm, speed_mm_s)
        self._ends_with = ends_with
        self._stops_s = self._carriage.end_s
        if self._stall_next:
            self._stall_half_way(now_s)

    def push(self, now_s: float, to_mm: Point, speed_mm_s: float) -> None:
        """As a hand does: never quite evenly, and it says nothing when it is there."""
        self._carriage.start(now_s, to_mm, speed_mm_s, uneven=0.6)
        self._ends_with = ""
        self._stops_s = self._carriage.end_s

    def stall(self, now_s: float) -> None:
        """The present move, or else the next one, gets stuck half way through what is left."""
        self._stall_next = True
        if self.moving:
            self._stall_half_way(now_s)

    def stop(self, now_s: float) -> None:
        """At once."""
        self._carriage.stop(now_s)
        self._ends_with = None

    def end(self, now_s: float) -> str:
        """The move is over: the word for it, empty for none."""
        word, self._ends_with = self._ends_with or "", None
        if word == "stalled":
            self._carriage.stop(now_s)
        return word

    def _stall_half_way(self, now_s: float) -> None:
        self._stops_s = 0.5 * (now_s + self._carriage.end_s)
        self._ends_with = "stalled"
        self._stall_next = False
