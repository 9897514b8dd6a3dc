"""What warmth does to the reading, where the rig measures a temperature."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from calibration.passes import FloatArray, RawPass

#: A degree moves a homemade rig by about this much, up or down (common practice, no source):
#: where little is read this keeps a chance likeness of drift and temperature in bounds.
PER_DEGREE_MM = 0.01
#: Temperatures are averaged over this long: they are read coarsely, and warmth is slow.
MEAN_S = 2.0
#: Over a smaller change than this nothing can be learnt.
LEAST_CHANGE_C = 0.05


@dataclass(frozen=True, slots=True)
class Warmth:
    """Temperature over a session, as an Effect: t_s, rise_c: float[n], about its mean."""

    t_s: FloatArray
    rise_c: FloatArray

    @property
    def size_mm(self) -> float:
        return PER_DEGREE_MM

    def at(self, t_s: FloatArray) -> FloatArray:
        """Degrees above the session's mean."""
        return np.asarray(np.interp(t_s, self.t_s, self.rise_c))


def warmth_of(passes: Sequence[RawPass]) -> Warmth | None:
    """The session's temperature, None where it was not measured or did not change."""
    read = [(one.t_s, one.temp_c) for one in passes if one.temp_c is not None]
    if not read:
        return None
    t, celsius = (np.concatenate(each) for each in zip(*read, strict=True))
    ok = np.isfinite(celsius)
    if not ok.any():
        return None
    block = np.floor((t[ok] - t[ok][0]) / MEAN_S).astype(int)
    _, own = np.unique(block, return_inverse=True)
    count = np.bincount(own)
    mean_t, mean_c = (np.bincount(own, values) / count for values in (t[ok], celsius[ok]))
    if np.ptp(mean_c) < LEAST_CHANGE_C:
        return None
    return Warmth(mean_t, mean_c - np.mean(mean_c))
