"""Whether readings lie close enough under the crowns: whether the carriage was slow enough."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis.faults import NeckError
from analysis.instrument import FloatArray
from analysis.pattern.lanes import lane_words
from calibration.profile import Profile

#: A crown's round is about this wide, and needs readings so close, mm.
ROUND_MM, CLOSE_MM = 1.6, 0.2
#: More than this share of the crowns read too coarsely is a scan that will not do; more than the
#: other is worth saying (own choice).
MOST_COARSE, SOME_COARSE = 0.5, 0.05


def check_spacing(profiles: Sequence[Profile], places: FloatArray) -> tuple[str, ...]:
    """A phrase where some crowns were read too coarsely: the carriage was too fast.

    places: [passes, frets], where the crowns are. Raises NeckError where most were.
    """
    apart = np.array([_apart_mm(p, x) for p, x in zip(profiles, places, strict=True)])
    coarse = apart > CLOSE_MM
    share = float(np.mean(coarse[np.isfinite(apart)])) if np.isfinite(apart).any() else 0.0
    if share <= SOME_COARSE:
        return ()
    worst = int(np.argmax(np.where(coarse, apart, 0.0).sum(axis=1)))
    spacing = float(np.median(apart[worst][coarse[worst]]))
    speed = profiles[worst].speed_mm_s
    how = "scan slower or at a higher rate"
    fast = ""
    if np.isfinite(speed):
        fast = f"at {speed:g} mm/s "
        how = f"scan at {speed * CLOSE_MM / spacing:.2g} mm/s or slower, or at a higher rate"
    frets = 1 + np.flatnonzero(coarse[worst])
    line = (
        f"too few readings under the crowns: {fast}samples lie {spacing:.2f} mm apart over frets "
        f"{frets[0]} to {frets[-1]} of {lane_words(profiles[worst].string)}, a crown needs them "
        f"every {CLOSE_MM:g} mm or closer; {how}"
    )
    if share > MOST_COARSE:
        raise NeckError(line)
    return (line,)


def _apart_mm(profile: Profile, places: FloatArray) -> FloatArray:
    """Mean distance of the readings taken over each crown, lost ones and spikes included.

    NaN where the pass did not go. float[frets].
    """
    x = profile.x_mm
    first = np.searchsorted(x, places - 0.5 * ROUND_MM)
    last = np.maximum(np.searchsorted(x, places + 0.5 * ROUND_MM) - 1, first + 1)
    went = (places > x[0] + ROUND_MM) & (places < x[-1] - ROUND_MM)
    inside = np.minimum(last, x.size - 1), np.minimum(first, x.size - 1)
    return np.where(went, (x[inside[0]] - x[inside[1]]) / (last - first), np.nan)
