"""Wall time that never jumps."""

from __future__ import annotations

import time
from typing import Protocol


class Clock(Protocol):
    """What stamps arrivals: one for all links of a rig, so that they can be compared."""

    def now_ns(self) -> int:
        """Nanoseconds since 1970; never runs backwards."""


class SteadyClock:
    """The monotonic clock, set to wall time once.

    Two stamps of one clock are as far apart as the events were, whatever happens to the
    machine's date in between.
    """

    def __init__(self) -> None:
        self._offset_ns = time.time_ns() - time.monotonic_ns()

    def now_ns(self) -> int:
        """Nanoseconds since 1970, as the date stood when this clock was made."""
        return time.monotonic_ns() + self._offset_ns
