"""Bumps beside the places where frets should stand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from analysis.pattern.lay import Lay
from analysis.pattern.vote import MATCH_MM


@dataclass(frozen=True, slots=True)
class Pairs:
    """Bumps and the frets they are: which pass, which fret (from 0), where; levers."""

    of: NDArray[np.intp]
    fret: NDArray[np.intp]
    x_mm: FloatArray
    lever_mm: FloatArray


def places_mm(lay: Lay, unknowns: FloatArray) -> FloatArray:
    """Where the frets should stand on the carriage, [passes, frets]."""
    nut, scale, skew, fan = unknowns
    leaning = lay.across * (lay.pattern_mm - lay.square_mm)
    return np.asarray(
        nut + scale * lay.pattern_mm + skew * lay.lever_mm(float(fan)) + fan * leaning
    )


def pairs_of(lay: Lay, unknowns: FloatArray, widest_mm: float) -> Pairs:
    """The bump nearest to each place, where it is near enough."""
    places, b = places_mm(lay, unknowns), lay.bumps
    apart = 1e3 + float(np.ptp(np.concatenate([places.ravel(), b.x_mm])))
    row = np.arange(b.passes)[:, None]
    keys = b.x_mm + apart * b.of
    right = np.clip(np.searchsorted(keys, places + apart * row), 1, max(b.x_mm.size - 1, 1))
    wanted = places + apart * row
    nearer = np.abs(keys[right - 1] - wanted) < np.abs(keys[right] - wanted)
    bump = right - nearer
    of, fret = np.nonzero(np.abs(keys[bump] - wanted) < widest_mm)
    chosen = bump[of, fret]
    # a lane need not lie just where the file has it
    aside = np.nan_to_num(b.y_mm[chosen] - lay.y_mm[of, fret])
    return Pairs(of, fret, b.x_mm[chosen], lay.lever_mm(float(unknowns[3]))[of, fret] + aside)


def covered_by(lay: Lay, unknowns: FloatArray) -> NDArray[np.bool_]:
    places, went = places_mm(lay, unknowns), lay.bumps.went_mm
    return np.asarray((places > went[:, :1] + MATCH_MM) & (places < went[:, 1:] - MATCH_MM))
