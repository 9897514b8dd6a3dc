"""Everything on a scan that could be a crown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter1d, minimum_filter1d

from analysis.instrument import FloatArray
from analysis.pattern.cells import CELL_MM, Cells
from analysis.pattern.peaks import find_peaks
from calibration.profile import Profile

#: Bumps wider than this are not frets (nut block, capo, pickup, body).
WIDEST_CROWN_MM = 5.0
#: A bump narrower than this at half its height is a splinter or a spike: the finest wire is
#: wider (common practice, no source).
NARROWEST_CROWN_MM = 0.6
#: A bump lower than this is dirt.
LOWEST_CROWN_MM = 0.2
#: Two crowns stand no closer (36 frets on a short scale have 4 mm).
CLOSEST_MM = 2.0
#: A bump's middle is taken over so much of it, each side of its highest cell.
_REACH_MM = 2.0


@dataclass(frozen=True, slots=True)
class Bumps:
    """Bumps of all passes, pass by pass in order of x: float[bumps].

    of: which pass. x_mm: carriage position of the middle. y_mm: cross position there. top_mm:
    height of the summit. went_mm: float[passes, 2], where each pass began and ended.
    """

    of: NDArray[np.intp]
    x_mm: FloatArray
    y_mm: FloatArray
    top_mm: FloatArray
    went_mm: FloatArray

    @property
    def passes(self) -> int:
        return int(self.went_mm.shape[0])

    @property
    def count(self) -> NDArray[np.intp]:
        """int[passes]: bumps on each pass."""
        return np.bincount(self.of, minlength=self.passes)


def find_bumps(profiles: Sequence[Profile], cells: Cells) -> Bumps:
    """What stands up, more than dirt does, after a white top-hat has taken off all that is wide.

    White top-hat: the profile less its opening, here by a flat line of WIDEST_CROWN_MM (Serra,
    Image Analysis and Mathematical Morphology, 1982). A bump's place is the middle of what of it
    stands over half its height, weighted by how far it does.
    """
    z = _median_of_three(cells.z_mm)
    size = round(WIDEST_CROWN_MM / CELL_MM) | 1
    opened = maximum_filter1d(minimum_filter1d(z, size, axis=1), size, axis=1)
    # a column of nothing between the passes keeps their bumps apart
    high = np.pad(np.maximum(z - opened, 0.0), ((0, 0), (0, 1)))
    around = round(2.0 * WIDEST_CROWN_MM / CELL_MM)
    peaks = find_peaks(high.ravel(), LOWEST_CROWN_MM, CLOSEST_MM / CELL_MM, around)
    offset, width = _middles(high.ravel(), peaks)
    wide = width >= NARROWEST_CROWN_MM
    peaks, offset = peaks[wide], offset[wide]
    of, column = np.divmod(peaks, high.shape[1])
    x = cells.from_mm + CELL_MM * (column + offset)
    return Bumps(of, x, _y_at(profiles, of, x), z[of, column], cells.went_mm)


def _median_of_three(z: FloatArray) -> FloatArray:
    """Takes single wild cells off and leaves every flank as it is."""
    out = z.copy()
    before, here, after = z[:, :-2], z[:, 1:-1], z[:, 2:]
    low, high = np.minimum(before, after), np.maximum(before, after)
    out[:, 1:-1] = np.clip(here, low, high)
    return out


def _middles(high: FloatArray, peaks: NDArray[np.intp]) -> tuple[FloatArray, FloatArray]:
    """(middle in cells from the peak, width at half height in mm) of each peak."""
    reach = round(_REACH_MM / CELL_MM)
    steps = np.arange(-reach, reach + 1)
    over = high[np.clip(peaks[:, None] + steps, 0, high.size - 1)] - 0.5 * high[peaks][:, None]
    inside = over > 0.0
    # only what hangs together with the peak
    left = np.logical_and.accumulate(inside[:, reach::-1], axis=1)[:, ::-1]
    right = np.logical_and.accumulate(inside[:, reach:], axis=1)
    weight = np.where(np.concatenate([left, right[:, 1:]], axis=1), over, 0.0)
    width = CELL_MM * np.count_nonzero(weight, axis=1)
    return (weight @ steps) / np.maximum(weight.sum(axis=1), 1e-12), width


def _y_at(profiles: Sequence[Profile], of: NDArray[np.intp], x: FloatArray) -> FloatArray:
    y = np.empty_like(x)
    for row in np.unique(of):
        mine = of == row
        y[mine] = np.interp(x[mine], profiles[row].x_mm, profiles[row].y_mm)
    return y
