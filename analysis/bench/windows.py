"""Where a straight beam can lie: which frets are under it."""

from __future__ import annotations

import numpy as np

from analysis.instrument import FloatArray

#: A beam is moved to and fro over the same frets by this much, mm (own choice).
STROKE_MM = 5.0
#: Fewer frets than these are no work for a beam.
FEWEST_FRETS = 3


def windows(x_mm: FloatArray, beam_mm: float | None) -> tuple[tuple[int, int], ...]:
    """Every set of frets a beam can lie over, as first and last, counted from 0.

    A beam lies over all frets between its ends, whether they are to be cut or not. It can go no
    further towards the nut than x = 0, where the nut stands in its way; over the last fret its
    end may hang, as long as its middle does not. It needs room for a stroke before one of its
    ends reaches another fret. x_mm: [frets, strings]; a set counts where it can be had under
    every string. None, or a beam as long as the frets: one set, all of them. None may be left
    for a beam that is too short.
    """
    last = x_mm.shape[0] - 1
    if beam_mm is None or beam_mm >= float(np.max(x_mm[-1] - x_mm[0])):
        return ((0, last),)
    before = np.vstack([np.zeros(x_mm.shape[1]), x_mm[:-1]])
    behind = np.vstack([x_mm[1:], np.full(x_mm.shape[1], np.inf)])
    behind[-1] = x_mm[-1] + 0.5 * beam_mm
    # where the beam's near end may be for frets first ... last: [first, last, strings]
    nearest = np.maximum(before[:, None], x_mm[None] - beam_mm)
    furthest = np.minimum(x_mm[:, None], behind[None] - beam_mm)
    fits = np.all(furthest - nearest >= STROKE_MM, axis=2)
    found = np.argwhere(fits)
    found = found[found[:, 1] - found[:, 0] >= FEWEST_FRETS - 1]
    return tuple((int(a), int(b)) for a, b in found)
