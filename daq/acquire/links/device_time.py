"""How much time has passed on the rig's own clock, and how many samples it lost."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from daq.wire.records import SampleBlock


def steps(counter: NDArray[np.uint32], before: int | None) -> NDArray[np.int64]:
    """How far a wrapping 32-bit counter went from each reading to the next.

    counter: uint32[n]. before: the reading before the first, or None where there was none.
    Returns int64, n values with `before` and n - 1 without. A step of half a turn or more is
    taken as a step backwards, and is negative.
    """
    if before is None:
        return (counter[1:] - counter[:-1]).view(np.int32).astype(np.int64)
    went = np.empty_like(counter)
    went[:1] = counter[:1] - np.uint32(before)
    np.subtract(counter[1:], counter[:-1], out=went[1:])
    return went.view(np.int32).astype(np.int64)


class DeviceTime:
    """Follows the device clock and the sample numbers over the blocks of one stream.

    rate_hz: what the rig sent in the last block, lost samples included, by its own clock.
    """

    def __init__(self) -> None:
        self.elapsed_s = 0.0
        self.samples = 0
        self.gaps = 0
        self.lost = 0
        self.rate_hz = 0.0
        self._last_us: int | None = None
        self._last_seq: int | None = None

    def add(self, block: SampleBlock) -> None:
        """Takes the next block; steps backwards (a rig that was reset) count as nothing."""
        if not len(block):
            return
        forward_us = steps(block.t_us, self._last_us)
        passed_s = 1e-6 * int(np.maximum(forward_us, 0).sum())
        skipped = np.maximum(steps(block.seq, self._last_seq) - 1, 0)
        lost = int(skipped.sum())
        self.gaps += int(np.count_nonzero(skipped))
        self.lost += lost
        self.elapsed_s += passed_s
        self.samples += len(block)
        if passed_s > 0:
            self.rate_hz = (forward_us.size + lost) / passed_s
        self._last_us, self._last_seq = int(block.t_us[-1]), int(block.seq[-1])
