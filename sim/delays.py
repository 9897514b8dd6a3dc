"""Late arrivals: a cable and a driver that hold bytes back, never in another order."""

from __future__ import annotations

from collections import deque

from numpy.random import Generator


class Delays:
    """Each parcel of bytes is late by a draw of its own: many little, few nearly most_s.

    Exponential with a mean of a quarter of most_s, cut off at most_s; a parcel that is very
    late holds up those behind it, and they come in one burst. Seconds are the rig's.
    """

    def __init__(self, most_s: float, rng: Generator) -> None:
        self._most_s = most_s
        self._rng = rng
        self._on_the_way: deque[tuple[float, bytes]] = deque()

    def send(self, now_s: float, data: bytes) -> None:
        late_s = min(float(self._rng.exponential(0.25)) * self._most_s, self._most_s)
        self._on_the_way.append((now_s + late_s, data))

    def arrived(self, now_s: float) -> bytes:
        """All that is due by now."""
        out = b""
        while self._on_the_way and self._on_the_way[0][0] <= now_s:
            out += self._on_the_way.popleft()[1]
        return out

    def forget(self) -> None:
        self._on_the_way.clear()
