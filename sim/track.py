"""Where the metal is that a chip's steps move: from step to step, with the play behind it."""

from __future__ import annotations

from bisect import bisect_right

import numpy as np
from numpy.typing import NDArray

from sim.chip import HZ
from sim.motion import Play
from sim.rigspec import RigSpec

KEPT = 8192
# A motor takes this long for a step of its own; at speed each step runs into the next.
STEP_S = 0.01


class Track:
    """The last few thousand steps. Positions are counted mm; the carriage's is behind the play."""

    def __init__(self, spec: RigSpec, play: Play) -> None:
        self._spec = spec
        self._play = play
        self._t_s = [0.0]
        self._x_mm, self._y_mm = [0.0], [0.0]
        self._carriage_mm = [float(play.half_mm(0.0))]

    @property
    def here_mm(self) -> tuple[float, float]:
        """Counted x and y after the last step."""
        return self._x_mm[-1], self._y_mm[-1]

    def add(self, steps: NDArray[np.void]) -> None:
        """chip.STEP[n], in the order they came."""
        x_mm = self._spec.mm_per_x_count * steps["x"]
        half_mm = self._play.half_mm(x_mm)
        columns = (
            (steps["cycle"] / HZ).tolist(),
            x_mm.tolist(),
            (self._spec.mm_per_y_count * steps["y"]).tolist(),
            half_mm.tolist(),
        )
        for t_s, x, y, half in zip(*columns, strict=True):
            self._append(t_s, x, y, half)
        if len(self._t_s) > 2 * KEPT:
            for column in (self._t_s, self._x_mm, self._y_mm, self._carriage_mm):
                del column[:-KEPT]

    def at_mm(self, t_s: float) -> tuple[float, float]:
        """The carriage behind the play, and y, at a time that is not before the steps kept."""
        before = max(bisect_right(self._t_s, t_s) - 1, 0)
        after = min(before + 1, len(self._t_s) - 1)
        begins_s = max(self._t_s[before], self._t_s[after] - STEP_S)
        gone_s = t_s - begins_s
        share = gone_s / (self._t_s[after] - begins_s) if after > before and gone_s > 0.0 else 0.0
        return (
            self._carriage_mm[before]
            + share * (self._carriage_mm[after] - self._carriage_mm[before]),
            self._y_mm[before] + share * (self._y_mm[after] - self._y_mm[before]),
        )

    def _append(self, t_s: float, x_mm: float, y_mm: float, half_mm: float) -> None:
        # The carriage moves only once the play is taken up.
        stands = min(max(self._carriage_mm[-1], x_mm - half_mm), x_mm + half_mm)
        self._t_s.append(t_s)
        self._x_mm.append(x_mm)
        self._y_mm.append(y_mm)
        self._carriage_mm.append(stands)
