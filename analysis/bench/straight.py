"""Straight lines over planned tops: which a beam may come down to, and what it then takes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray

IntArray = NDArray[np.int_]
#: Relief and a prop's lift are set by a gauge to about this, standard uncertainty, mm (own
#: choice: steps of feelers and of a dial are 0.01 to 0.02 mm).
U_SET_MM = 0.01
#: A line is held by the two frets it passes through. Where the gauge leaves more doubt of it than
#: this, mm, it may take nothing: half-way between the ends of the neck a full beam's line is in
#: doubt by U_SET_MM, and a little more is borne (own choice).
MOST_DOUBT_MM = 1.25 * U_SET_MM
#: Under the plan by less than this is the numbers' own rounding, mm.
NOTHING_MM = 1e-9


@dataclass(frozen=True, slots=True)
class Lines:
    """Every line through two planned tops of one string, and how it lies to the others.

    first, second: [lines], frets from 0. gap_mm: [lines, frets, strings], line over planned top
    on the neck as it was scanned. doubt_mm: the same, what setting the neck by a gauge leaves
    unsure of it. bends: [cases, ways, lines, frets, strings], how it changes with one unit of
    each way the neck is bent (the rod, a prop), in every case of what those may do; the first
    case is the stated one. lifts: [cases, ways, frets, strings], of the tops themselves.
    remove_mm: [frets, strings].
    """

    first: IntArray
    second: IntArray
    gap_mm: FloatArray
    doubt_mm: FloatArray
    bends: FloatArray
    lifts: FloatArray
    remove_mm: FloatArray

    def gaps_mm(self, bent: FloatArray) -> FloatArray:
        """[cases, lines, frets, strings] at so much of each way. A top not seen is NaN."""
        return np.asarray(self.gap_mm + np.tensordot(self.bends, bent, axes=(1, 0)))

    def taken_mm(self, gap_mm: FloatArray) -> FloatArray:
        """What comes off every top when the beam is down to a line; nothing where unseen."""
        taken = np.clip(self.remove_mm - gap_mm, 0.0, self.remove_mm)
        return np.where(np.isfinite(taken), taken, 0.0)


def lines_over(
    x_mm: FloatArray, wanted_mm: FloatArray, remove_mm: FloatArray, lifts: FloatArray
) -> Lines:
    """All lines through two of the planned tops `wanted_mm`, [frets, strings].

    lifts: [cases, ways, frets, strings], what a unit of each way lifts the tops by. Of all
    lines that go nowhere under the plan one that takes most passes through two planned tops:
    what is left under a line is concave in its ends, and is least at a corner.
    """
    first, second = np.triu_indices(x_mm.shape[0], k=1)
    share = (x_mm[None] - x_mm[first][:, None]) / (x_mm[second] - x_mm[first])[:, None]

    def over(z: FloatArray) -> FloatArray:
        low, high = z[..., first, None, :], z[..., second, None, :]
        return np.asarray(low + share * (high - low) - z[..., None, :, :])

    bends = over(lifts)
    doubt = U_SET_MM * np.sqrt(np.sum(bends[0] ** 2, axis=0))
    return Lines(first, second, over(wanted_mm), doubt, bends, lifts, remove_mm)
