"""Where the ground pads lie, found by their edges in passes along the whole travel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from calibration.passes import FloatArray, RawPass
from calibration.spikes import noise_mm, spike_flags

#: A surface that climbs more steeply ends a flat stretch.
STEEP = 0.25
#: Nothing read over more than this ends one too.
LARGEST_GAP_MM = 0.6
#: A pad is at least so wide; what is wider than that is no pad but something on the rig.
LEAST_MM, MOST_MM = 3.0, 80.0
#: Ground steel is this straight; a fretted board is not (common practice, no source).
STRAIGHT_MM = 0.01
SIGMAS = 8.0


@dataclass(frozen=True, slots=True)
class Flat:
    """A flat stretch along the rail, carriage mm."""

    from_mm: float
    to_mm: float

    @property
    def middle_mm(self) -> float:
        """Half-way."""
        return 0.5 * (self.from_mm + self.to_mm)

    @property
    def width_mm(self) -> float:
        """From edge to edge."""
        return self.to_mm - self.from_mm


def end_flats(passes: Sequence[RawPass], quantum_mm: float, tip_mm: float) -> tuple[Flat, ...]:
    """The first and the last flat stretch of pad size along the rail.

    passes: there and back over all of the travel: lag and play move an edge one way and the
        other, and their mean is kept. quantum_mm: one sensor count. tip_mm: radius of a contact
        tip, which rides on an edge before it falls off; 0 for light.

    Returns two, or one where there is no other, or none where the passes do not agree.
    """
    found = [flats(one.x_mm, one.z_mm, quantum_mm, tip_mm) for one in passes]
    if not found or any(not each for each in found):
        return ()
    ends = [_mean([each[0] for each in found]), _mean([each[-1] for each in found])]
    same = all(len(each) == 1 for each in found)
    return tuple(ends[:1] if same else ends)


def flats(x_mm: FloatArray, z_mm: FloatArray, quantum_mm: float, tip_mm: float) -> list[Flat]:
    """The flat stretches of pad size in one pass, in the order of x.

    x_mm, z_mm: float[n] as read, z NaN where nothing was. Single wild readings do not count.
    """
    noise = noise_mm(z_mm, quantum_mm)
    kept = ~spike_flags(z_mm, noise)
    x, z = x_mm[kept], z_mm[kept]
    order = np.argsort(x, kind="stable")
    x, z = x[order], z[order]
    if x.size < 2:
        return []
    along, up = np.diff(x), np.abs(np.diff(z))
    ends = np.flatnonzero((along > LARGEST_GAP_MM) | (up > SIGMAS * noise + STEEP * along))
    rides_mm = tip_mm * STEEP / float(np.hypot(1.0, STEEP))
    stretches = zip([0, *(ends + 1)], [*ends, x.size - 1], strict=True)
    return [
        Flat(float(x[first]) + rides_mm, float(x[last]) - rides_mm)
        for first, last in stretches
        if LEAST_MM <= x[last] - x[first] - 2 * rides_mm <= MOST_MM
        and _is_straight(x[first : last + 1], z[first : last + 1], noise, rides_mm)
    ]


def _is_straight(x: FloatArray, z: FloatArray, noise: float, rides_mm: float) -> bool:
    """But for its ends, where a ball rides on the edge."""
    inner = (x > x[0] + 3 * rides_mm) & (x < x[-1] - 3 * rides_mm)
    if np.count_nonzero(inner) < 8:
        return False
    line = np.polyfit(x[inner], z[inner], 1)
    off = z[inner] - np.polyval(line, x[inner])
    return float(np.std(off)) < STRAIGHT_MM + 2.0 * noise


def _mean(each: Sequence[Flat]) -> Flat:
    return Flat(
        float(np.mean([flat.from_mm for flat in each])),
        float(np.mean([flat.to_mm for flat in each])),
    )
