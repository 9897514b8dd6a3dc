"""Peaks of a profile that stand apart and stand out."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray

Index = NDArray[np.intp]


def find_peaks(z: FloatArray, least: float, apart: float, around: int) -> Index:
    """Middles of the local maxima, in order: float[n] to intp[peaks].

    least: they are as high, and rise as much over the higher of the lowest places on either side
    before it gets higher, no further than `around` cells away. apart: fewer cells from a higher
    one that is kept, and a peak is none.

    As scipy.signal.find_peaks with height, prominence and distance; that costs every command the
    half second its package takes to load.
    """
    summits = _summits(z)
    summits = summits[z[summits] >= least]
    summits = _apart(summits, z[summits], apart)
    return summits[_prominence(z, summits, around) >= least]


def _summits(z: FloatArray) -> Index:
    """A level top counts once, by its middle; the ends are none."""
    step = np.diff(z)
    changes = np.flatnonzero(step != 0.0)
    tops = np.flatnonzero((step[changes[:-1]] > 0.0) & (step[changes[1:]] < 0.0))
    return np.asarray((changes[tops] + 1 + changes[tops + 1]) // 2, np.intp)


def _apart(summits: Index, height: FloatArray, apart: float) -> Index:
    """From the highest down, each that is kept has those close to it left out."""
    kept = np.ones(summits.size, np.bool_)
    for one in np.argsort(height)[::-1].tolist():
        if kept[one]:
            kept &= np.abs(summits - summits[one]) >= apart
            kept[one] = True
    return summits[kept]


def _prominence(z: FloatArray, summits: Index, around: int) -> FloatArray:
    away = np.arange(around + 1)
    top = z[summits][:, None]
    lowest = []
    for side in (-1, 1):
        beside = z[np.clip(summits[:, None] + side * away, 0, z.size - 1)]
        # what was not measured ends the descent, as what is higher does
        passed = np.logical_or.accumulate(~(beside <= top), axis=1)
        lowest.append(np.where(passed, np.inf, beside).min(axis=1, initial=np.inf))
    return np.asarray(z[summits] - np.maximum(*lowest))
