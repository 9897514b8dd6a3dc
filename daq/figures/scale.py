"""A scale with zero in the middle, in round steps."""

from __future__ import annotations

import numpy as np

from analysis.instrument import FloatArray
from daq.figures.palette import SIDES

_ROUND = (1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
#: No finer than twice what tops are usually known to, µm (own choice).
FINEST_UM = 2.0


def step_for(most_um: float) -> float:
    """The smallest round step under which 4 and a half steps reach most_um."""
    least = max(most_um / (SIDES + 0.5), FINEST_UM)
    power = 10.0 ** np.floor(np.log10(least))
    return float(next(m for m in _ROUND if m * power >= least * (1.0 - 1e-9)) * power)


def steps_of(values_um: FloatArray, step: float) -> FloatArray:
    """Whole steps from zero, -4 to 4; half a step either way is zero; NaN stays."""
    return np.asarray(np.clip(np.round(values_um / step), -SIDES, SIDES) + 0.0)
