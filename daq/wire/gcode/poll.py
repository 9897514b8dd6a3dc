"""When a board is asked where it is."""

from __future__ import annotations

import math

WATCH_HZ = 5.0
"""While something moves and nobody measures."""


class Poll:
    """At even times; what was missed is not made up for.

    query: a single character that is no letter goes out at once and is answered without `ok`
    (common practice, no source); anything else is a line.
    """

    def __init__(self, query: str, most_hz: float) -> None:
        self.query = query
        self.most_hz = most_hz
        self._rate_hz = 0.0
        self._next_s = -math.inf

    @property
    def is_line(self) -> bool:
        return len(self.query) > 1 or self.query.isalnum()

    def set_rate(self, rate_hz: float) -> None:
        """From now on; 0 for not at all. No more than `most_hz`."""
        self._rate_hz = min(rate_hz, self.most_hz)

    def at_once(self) -> None:
        """The next one is due now."""
        self._next_s = -math.inf

    def due_in_s(self, now_s: float) -> float:
        return max(0.0, self._next_s - now_s) if self._rate_hz else math.inf

    def asked(self, now_s: float) -> None:
        """It went out."""
        period_s = 1.0 / self._rate_hz
        late = now_s - self._next_s > period_s
        self._next_s = (now_s if late else self._next_s) + period_s
