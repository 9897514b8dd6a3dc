"""When the samples of a batch came, and their time where they have none of their own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from daq.wire.records import Batch, SampleBlock


def arrivals_ns(batch: Batch, stamps: Sequence[tuple[int, int]]) -> NDArray[np.int64]:
    """When each sample of a batch had come: int64[n].

    stamps: (when, how many bytes) of each arrival that was fed as one, in order.
    """
    if not len(batch.samples):
        return np.empty(0, np.int64)
    table = np.array(stamps, np.int64)
    return np.asarray(table[np.searchsorted(np.cumsum(table[:, 1]), batch.whole_after), 0])


def timed_by_arrival(batch: Batch, arrival_ns: NDArray[np.int64]) -> Batch:
    """The batch of a device without a clock, its samples' `t_us` that of their arrival."""
    old = batch.samples
    t_us = (arrival_ns // 1000 % 2**32).astype(np.uint32)
    return replace(batch, samples=SampleBlock(old.seq, t_us, old.x, old.y, old.raw, old.temp))
