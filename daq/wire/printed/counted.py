"""The clock of a sensor that prints evenly: the count of its lines.

A damaged line is still a line. But where its end is lost two lines become one, where bytes are
lost any number of them; the count is then behind, by how much nobody knows. A line of a length
that no good one had yet shows it, and the clock is made to leap: to whoever lays clocks over one
another the device has started anew, and what came before says nothing of what comes after. (A
loss that leaves a line of a usual length is not seen: no text without a checksum shows it.)
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

#: Far more than a pause, and no part of a turn of the 32-bit clock (4295 s).
LEAP_US = 1_000_000_000
_LONGER_THAN_ANY = np.iinfo(np.intp).max


class Counted:
    """Counts lines. rate_hz: so many are printed a second."""

    def __init__(self, rate_hz: int) -> None:
        self._rate_hz = rate_hz
        self._count = 0
        self._leaps = 0
        self._in_doubt = False
        self._shortest, self._longest = _LONGER_THAN_ANY, 0

    def lines(
        self, lengths: NDArray[np.intp], good: NDArray[np.bool_]
    ) -> tuple[NDArray[np.uint32], NDArray[np.uint32]]:
        """(seq, t_us) of the good ones among the lines that come next.

        lengths: intp[n], bytes of each, none of 0. good: bool[n].
        """
        seq = self._count + np.arange(lengths.size)
        leaps = self._leaps_before(lengths, good)
        t_us = seq * 1_000_000 // self._rate_hz + leaps * LEAP_US
        self._count += lengths.size
        return (
            (seq[good] % 2**32).astype(np.uint32),
            (t_us[good] % 2**32).astype(np.uint32),
        )

    def _leaps_before(
        self, lengths: NDArray[np.intp], good: NDArray[np.bool_]
    ) -> NDArray[np.int64]:
        """How often the clock has leapt at each line: once before the next good one, however
        many doubtful ones stand between."""
        doubtful = ~good & ~self._usual(lengths, good)
        doubts = np.concatenate([[int(self._in_doubt)], np.cumsum(doubtful) + self._in_doubt])
        at_good = doubts[1:][good]
        before = np.concatenate([[0], at_good[:-1]])
        leaps = np.zeros(lengths.size, np.int64)
        leaps[good] = self._leaps + np.cumsum(at_good > before)
        self._leaps = int(leaps[good][-1]) if at_good.size else self._leaps
        self._in_doubt = bool(doubts[-1] > (at_good[-1] if at_good.size else 0))
        return leaps

    def _usual(self, lengths: NDArray[np.intp], good: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Which lines are neither shorter nor longer than all good ones before them."""
        shortest = np.minimum.accumulate(
            np.concatenate([[self._shortest], np.where(good, lengths, _LONGER_THAN_ANY)])
        )
        longest = np.maximum.accumulate(
            np.concatenate([[self._longest], np.where(good, lengths, 0)])
        )
        self._shortest, self._longest = int(shortest[-1]), int(longest[-1])
        return np.asarray((lengths >= shortest[:-1]) & (lengths <= longest[:-1]))
