"""The rig's counters: a microsecond clock and a sample number, both 32 bits and near their wrap."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sim.instrument import FloatArray

WRAP = 1 << 32


class Counters:
    """Starts where a rig that had been on for a while would be: both wrap in an early pass.

    ppm: how much faster this clock runs than the world's.
    """

    def __init__(self, seed: int, ppm: float = 0.0) -> None:
        rng = np.random.default_rng([seed, 4])
        self._t0_us = WRAP - int(rng.integers(20_000_000, 40_000_000))
        self._seq = WRAP - int(rng.integers(5_000, 15_000))
        self._us_a_second = 1e6 + ppm
        self._frozen_s = np.inf

    @property
    def second_s(self) -> float:
        """What this clock takes for a second, in real ones."""
        return 1e6 / self._us_a_second

    def t_us(self, t_s: float) -> int:
        """The device clock at seconds since power-on."""
        return int(self.many_t_us(np.array([t_s]))[0])

    def many_t_us(self, t_s: FloatArray) -> NDArray[np.int64]:
        """The same for many times at once, int64[n]."""
        shown_s = np.minimum(t_s, self._frozen_s)
        return (np.rint(self._us_a_second * shown_s).astype(np.int64) + self._t0_us) % WRAP

    def freeze(self, t_s: float | None) -> None:
        """The microsecond clock stands still from then on; None: it jumps to where it should be."""
        self._frozen_s = np.inf if t_s is None else t_s

    def take(self, count: int) -> NDArray[np.int64]:
        """The next sample numbers, int64[n]."""
        first = self._seq
        self._seq = (first + count) % WRAP
        return (first + np.arange(count)) % WRAP
