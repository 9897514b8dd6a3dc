"""How the rail's map errs along a neck: neighbouring cells err together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray
from calibration.rail.map import OUTSIDE_MM_PER_MM
from calibration.rail.sums import RailSums

#: What the rail itself may turn between nut and joint, rms, mm/mm. No calibration tells an even
#: twist of the rail: a straightedge is laid anew at every y. A machinist's level that is set
#: on both ends tells a tenth of a millimetre in a metre (common practice, no source).
RAIL_TWIST = 1e-4


@dataclass(frozen=True, slots=True)
class RailAlong:
    """The map a scan was read with, and where its neck lay on it: carriage x = nut_mm + scale x.

    A skewed neck's lanes lie some tenths of a millimetre elsewhere, which no rail's error minds.
    """

    sums: RailSums
    nut_mm: float
    scale: float

    def u_of_sum_mm(self, x_mm: FloatArray, weights: FloatArray) -> float:
        """Of sum(weights R) at places on the neck, with all that errs together along the rail.

        x_mm, weights: float[n]. Outside the map the uncertainty grows as the map's own does.
        """
        at = self.nut_mm + self.scale * x_mm
        known = self.sums.x_mm
        outside = OUTSIDE_MM_PER_MM * np.abs(at - np.clip(at, known[0], known[-1]))
        return float(
            np.hypot(self.sums.u_of_sum_mm(at, weights), np.sqrt(np.sum((weights * outside) ** 2)))
        )
