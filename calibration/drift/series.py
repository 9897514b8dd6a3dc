"""All that a session says of its drift, as one time series."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from calibration.drift.pads import PadVisits
from calibration.drift.turns import Turns
from calibration.passes import FloatArray

#: A mean is never better known than this share of the sensor's step.
LEAST_STEP_SHARE = 0.02
_LEAST_U_MM = 1e-6


class Effect(Protocol):
    """Something known to act on the reading over time, by an amount not known."""

    @property
    def size_mm(self) -> float:
        """Standard deviation of the amount before anything was read, mm per unit of `at`."""

    def at(self, t_s: FloatArray) -> FloatArray:
        """How strongly it acts at these times, float[n]."""


@dataclass(frozen=True, slots=True)
class Series:
    """Readings of pads, then differences at turns.

    t_s: float[v + 2 n], times of v visits, then of n stretches there, then back.
    pad: int[v]. x_mm: float[n]. value_mm, u_mm: float[v + n]. turn: int[n].
    """

    t_s: FloatArray
    pad: NDArray[np.int_]
    x_mm: FloatArray
    value_mm: FloatArray
    u_mm: FloatArray
    turn: NDArray[np.int_]

    @property
    def visits(self) -> int:
        return int(self.pad.size)

    @property
    def visit_s(self) -> FloatArray:
        """float[v]"""
        return self.t_s[: self.visits]

    def rows(self, over_times: FloatArray) -> FloatArray:
        """What readings and differences see of a quantity given over the times (first axis)."""
        v, n = self.visits, self.x_mm.size
        turns = over_times[v : v + n] - over_times[v + n :]
        return np.concatenate([over_times[:v], turns])

    def without_turn(self, turn: int) -> Series:
        """The same without the differences at one turn."""
        return self._keeping(self.turn != turn)

    def without_turns(self) -> Series:
        """The visits to the pads alone."""
        return self._keeping(np.zeros(self.turn.size, dtype=bool))

    def _keeping(self, kept: NDArray[np.bool_]) -> Series:
        every = np.ones(self.visits, dtype=bool)
        rows, times = np.concatenate([every, kept]), np.concatenate([every, kept, kept])
        return Series(
            self.t_s[times],
            self.pad,
            self.x_mm[kept],
            self.value_mm[rows],
            self.u_mm[rows],
            self.turn[kept],
        )


def series_of(visits: PadVisits, turns: Turns, quantum_mm: float) -> Series:
    """Every visit and turn; uncertainties with a floor for the sensor's own step.

    Readings of a quiet sensor that all agree to the digit still hide a part of a step.
    """
    seen = np.isfinite(visits.z_mm)
    u_visit = visits.u_mm[seen]
    still = np.where(u_visit < _LEAST_U_MM, quantum_mm / np.sqrt(12.0), 0.0)
    u = np.concatenate([np.hypot(u_visit, still), turns.u_mm])
    return Series(
        np.concatenate([visits.t_s[seen], turns.there_s, turns.back_s]),
        np.nonzero(seen)[1],
        turns.x_mm,
        np.concatenate([visits.z_mm[seen], turns.dz_mm]),
        np.maximum(np.hypot(u, LEAST_STEP_SHARE * quantum_mm), _LEAST_U_MM),
        turns.turn.astype(int),
    )
