"""Where the carriage was when a reading was taken, on a rig whose sensor has a link of its own."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
TimeArray = NDArray[np.int64]
KEPT_NS = 1_000_000_000
"""A carriage that tells nothing for so long stands where it was last."""


def taken_ns(t_us: NDArray[np.uint32], arrival_ns: TimeArray) -> TimeArray:
    """When samples were taken, by the host's clock and less well than `calibration.clocks` knows.

    t_us: uint32[n], the device's time, that wraps. arrival_ns: int64[n]; many come in one piece
    and have one arrival, so they are spread by the device's time behind the least late of them.
    """
    passed_us = np.diff(t_us, prepend=t_us[:1]).astype(np.int64).cumsum()
    since_ns = passed_us * 1000
    return np.asarray(since_ns + (arrival_ns - since_ns).min())


class Places:
    """Both links' samples, laid over each other as they come; readings wait for the carriage."""

    def __init__(self) -> None:
        self._when_ns: TimeArray = np.empty(0, np.int64)
        self._x_mm: FloatArray = np.empty(0)
        self._waiting_ns: TimeArray = np.empty(0, np.int64)
        self._waiting_mm: FloatArray = np.empty(0)

    def passed(self, when_ns: TimeArray, x_mm: FloatArray) -> None:
        """The carriage was at these places, float[n], at these times."""
        kept = self._when_ns > when_ns[-1] - KEPT_NS
        self._when_ns = np.concatenate([self._when_ns[kept], when_ns])
        self._x_mm = np.concatenate([self._x_mm[kept], x_mm])

    def read(self, when_ns: TimeArray, z_mm: FloatArray) -> tuple[FloatArray, FloatArray] | None:
        """These readings and those that waited, as far as it is known now where they were taken:
        x_mm, z_mm. None where it is not known of any.
        """
        when_ns = np.concatenate([self._waiting_ns, when_ns])
        z_mm = np.concatenate([self._waiting_mm, z_mm])
        if not self._when_ns.size:
            return None  # of what was read before the carriage was first heard of nobody knows
        known = (when_ns <= self._when_ns[-1]) | (when_ns <= when_ns[-1] - KEPT_NS)
        self._waiting_ns, self._waiting_mm = when_ns[~known], z_mm[~known]
        if not known.any():
            return None
        return np.interp(when_ns[known], self._when_ns, self._x_mm), z_mm[known]
