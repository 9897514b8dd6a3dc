"""On the bench: the rod setting at which a straight beam does most of the plan by itself."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray, Instrument
from analysis.rod import RELIEF_PER_TURN_MM, relief_cases
from analysis.shape import Shape


@dataclass(frozen=True, slots=True)
class BeamSetting:
    """relief_change_mm, turns: from the rod's setting in the unstrung scan.

    left_um: [frets, strings], what the beam leaves standing above the plan (positive: file it)
    or would take too much (negative: keep the beam off).
    """

    relief_change_mm: float
    turns: float
    left_um: FloatArray


def beam_setting(
    unstrung: Shape, remove_mm: FloatArray, instrument: Instrument, most_relief_mm: float
) -> BeamSetting:
    """Least squares: a straight line per string and one rod setting for all.

    The surface wanted is the unstrung tops less the planned removal; what a straight beam
    leaves after that rod setting is its departure from a line, string by string.
    """
    wanted = unstrung.top_mm - remove_mm
    rod, _ = relief_cases(instrument, unstrung.x_mm)
    bent = _off_line(rod.tops, unstrung.x_mm)
    off = _off_line(wanted, unstrung.x_mm)
    good = np.isfinite(off)
    relief = -float(np.sum(bent[good] * off[good]) / np.sum(bent[good] ** 2))
    relief = float(np.clip(relief, -most_relief_mm, most_relief_mm))
    left = _off_line(wanted + relief * rod.tops, unstrung.x_mm)
    return BeamSetting(relief, -relief / RELIEF_PER_TURN_MM, -1e3 * left)


def _off_line(z: FloatArray, x: FloatArray) -> FloatArray:
    """Departure from the least-squares line of each column, NaN ignored."""
    out = np.full(z.shape, np.nan)
    for s in range(z.shape[1]):
        good = np.isfinite(z[:, s])
        if np.count_nonzero(good) > 2:
            out[good, s] = z[good, s] - np.polyval(
                np.polyfit(x[good, s], z[good, s], 1), x[good, s]
            )
    return out
