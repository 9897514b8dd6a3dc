"""What lies between the good frames, counted: the same however the stream is cut into feeds."""

from __future__ import annotations

import numpy as np

from daq.wire.binary.candidates import Index
from daq.wire.binary.layout import LONGEST


class Rubbish:
    """Bytes that belong to no good frame come in pieces: one begins after a good frame, and at
    each thing that looked like a frame and was none. A piece counts as one bad frame for every
    LONGEST bytes of it, begun ones too.

    skip_first: a first piece that does not look like a frame, and is shorter than the longest,
        is the end of one whose beginning was lost: not counted.
    """

    def __init__(self, *, skip_first: bool) -> None:
        self._open = 1 if skip_first else 0
        """Bytes so far of the piece that may go on with the next feed, 0 for none."""

    def count(self, starts: Index, ends: Index, refused: Index) -> tuple[int, int]:
        """How many bad frames more, and where the first of them stands, -1 for none.

        starts, ends: intp[n], the gaps before, between and after the n - 1 good frames of what
            has been decided now; most are empty.
        refused: intp[m], in order, where in these gaps something looked like a frame.
        """
        gaps = np.flatnonzero(ends > starts)
        if not gaps.size:
            if starts.size > 1:
                self._open = 0
            return 0, -1
        goes_on = gaps[0] == 0 and not (refused.size and refused[0] == starts[0])
        before = self._open if goes_on else 0
        pieces = np.union1d(starts[gaps], refused)
        gap_of = np.searchsorted(starts[gaps], pieces, side="right") - 1
        stops = np.minimum(ends[gaps][gap_of], np.append(pieces[1:], ends[-1]))
        length = stops - pieces
        length[0] += before
        counts = -(-length // LONGEST)
        counts[0] -= -(-before // LONGEST)
        self._open = int(length[-1]) if gaps[-1] == starts.size - 1 else 0
        counted = pieces[counts > 0]
        return int(counts.sum()), int(counted[0]) if counted.size else -1
