"""What came over a link: samples by the device's clock, and when each came by the host's."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Stamped:
    """Samples of one device in the order they came.

    t_us: uint32[n], its clock, wraps. arrival_ns: int64[n], when each came, on the host's clock.
    counted: its clock is nothing but the count of its samples, at a rate that is only said.
    """

    t_us: NDArray[np.uint32]
    arrival_ns: NDArray[np.int64]
    counted: bool = False

    @property
    def has_clock(self) -> bool:
        """False where its samples are timed by their arrival."""
        by_arrival = (self.arrival_ns // 1000 % 2**32).astype(np.uint32)
        return not np.array_equal(self.t_us, by_arrival)
