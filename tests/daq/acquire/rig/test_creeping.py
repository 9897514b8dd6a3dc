"""A carriage that creeps is not at rest, however little of its way is in one look."""

from __future__ import annotations

import numpy as np

from daq.acquire.rig.place import Place
from daq.files.rig import RigFile
from daq.wire.records import ABSENT, SampleBlock

RATE_HZ = 1000
LOOK = 20
"""Samples."""


def look(first: int, counts_s: float) -> SampleBlock:
    n = np.arange(first, first + LOOK)
    x = (n * counts_s / RATE_HZ).astype(np.int32)
    absent = np.full(LOOK, ABSENT, np.int32)
    seq = n.astype(np.uint32)
    return SampleBlock(seq, seq * np.uint32(1000), x, absent, absent, absent)


def test_a_creeping_carriage_does_not_rest(rig_file: RigFile) -> None:
    place = Place(rig_file.carriage)
    longest_s = 0.0
    for first in range(0, 5 * RATE_HZ, LOOK):
        place.seen(look(first, counts_s=33.0))
        longest_s = max(longest_s, place.still_s)
    assert 0.2 < longest_s < 0.5


def test_one_that_stands_does(rig_file: RigFile) -> None:
    place = Place(rig_file.carriage)
    for first in range(0, 2 * RATE_HZ, LOOK):
        place.seen(look(first, counts_s=0.0))
    assert place.still_s > 1.9
