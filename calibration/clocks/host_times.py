"""When each sample of a device was taken, on the host's clock."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from calibration.clocks.clock import unwrap_by_host
from calibration.clocks.fit import (
    LEAST_SAMPLES,
    MOST_WALK,
    ClockError,
    ClockFit,
    fit_clock,
    fit_of_arrivals,
)
from calibration.clocks.slips import without_slips
from calibration.clocks.stamped import Stamped
from calibration.passes import FloatArray

#: A device clock that goes this much otherwise than the host's has started anew.
ANEW_S = 30.0
#: What a sensor prints by is often no crystal. Common practice, no source.
MOST_WALK_COUNTED = 1e-3


def host_times(
    stamped: Stamped, origin_ns: int
) -> tuple[FloatArray, FloatArray, tuple[ClockFit, ...]]:
    """(host seconds of every sample, their uncertainties, the fits, one for each start).

    NaN where too few samples of one start of the device came to know. ClockError where there are
    too few of any.
    """
    arrival_s = (stamped.arrival_ns - origin_ns) * 1e-9
    if not stamped.has_clock:
        fit = fit_of_arrivals(arrival_s)
        return arrival_s, fit.u_at(arrival_s), (fit,)
    device_s = unwrap_by_host(stamped.t_us, arrival_s)
    host_s, u_s = np.full(device_s.size, np.nan), np.full(device_s.size, np.nan)
    most_walk = MOST_WALK_COUNTED if stamped.counted else MOST_WALK
    fits = []
    for part in _starts(device_s, arrival_s):
        if part.stop - part.start < LEAST_SAMPLES:
            continue
        own_s, came_s = device_s[part], arrival_s[part]
        if stamped.counted:
            own_s = without_slips(own_s, came_s)
        fit = fit_clock(own_s, came_s, most_walk)
        host_s[part], u_s[part] = fit.host(own_s), fit.u_at(own_s)
        fits.append(fit)
    if not fits:
        raise ClockError(f"{device_s.size} samples are too few to know a clock by")
    return host_s, u_s, tuple(fits)


def _starts(device_s: FloatArray, arrival_s: FloatArray) -> list[slice]:
    """A slice for each time the device started."""
    step_s = np.diff(device_s)
    anew = (step_s < 0.0) | (np.abs(step_s - np.diff(arrival_s)) > ANEW_S)
    edges = [0, *(1 + np.flatnonzero(anew)).tolist(), device_s.size]
    return [slice(a, b) for a, b in pairwise(edges)]
