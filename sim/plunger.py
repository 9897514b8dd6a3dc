"""The moving part of a contact sensor: it has play, and it falls only so fast."""

from __future__ import annotations

from typing import Literal

import numpy as np

from sim.instrument import FloatArray

CameFrom = Literal["above", "below"]


class Plunger:
    """play_mm: how much higher it stands falling than rising. fall_mm_s: 0 is no limit.

    It remembers where it stood: what it reads of a gauge block depends on how it came there.
    """

    def __init__(self, play_mm: float, fall_mm_s: float) -> None:
        self._play_mm = play_mm
        self._fall_mm_s = fall_mm_s
        self._stands_mm: float | None = None
        self._tip_mm = 0.0
        self._tip_s: float | None = None

    def came_from(self, way: CameFrom) -> None:
        """A person lifted it and let it down, or let it down and pushed the thing under it."""
        self._stands_mm = float("inf") if way == "above" else float("-inf")

    def stands_mm(self, t_s: FloatArray, surface_mm: FloatArray) -> FloatArray:
        """Where it stands over a surface that comes past at these device times, float[n]."""
        if self._fall_mm_s > 0.0:
            surface_mm = self._falls_mm(t_s, surface_mm)
        return self._slack_mm(surface_mm) if self._play_mm > 0.0 else surface_mm

    def _falls_mm(self, t_s: FloatArray, surface_mm: FloatArray) -> FloatArray:
        """The highest of all that came past, each lowered by the fall since."""
        if self._tip_s is None or self._tip_s > t_s[0]:
            self._tip_mm, self._tip_s = float(surface_mm[0]), float(t_s[0])
        since_s = np.concatenate([[0.0], t_s - self._tip_s])
        raised = np.concatenate([[self._tip_mm], surface_mm]) + self._fall_mm_s * since_s
        tip = (np.maximum.accumulate(raised) - self._fall_mm_s * since_s)[1:]
        self._tip_mm, self._tip_s = float(tip[-1]), float(t_s[-1])
        return np.asarray(tip, dtype=float)

    def _slack_mm(self, surface_mm: FloatArray) -> FloatArray:
        """The play operator. Each state hangs on the one before it, hence the loop."""
        half = 0.5 * self._play_mm
        stands = float(surface_mm[0]) if self._stands_mm is None else self._stands_mm
        out = np.empty_like(surface_mm)
        for index, z_mm in enumerate(surface_mm.tolist()):
            stands = min(max(stands, z_mm - half), z_mm + half)
            out[index] = stands
        self._stands_mm = stands
        return out
