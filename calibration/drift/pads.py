"""What each pass read on the ground steel at either end of the rail."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from calibration.passes import FloatArray, Pad, RawPass
from calibration.spikes import noise_mm

#: Left out at each pad edge: the ball rounds the edge, and lag and backlash blur it.
PAD_MARGIN_MM = 2.5
#: Fewer valid readings than this are no visit.
LEAST_READINGS = 8


@dataclass(frozen=True, slots=True)
class PadVisits:
    """What each pass read on each pad.

    t_s, z_mm, u_mm: float[passes, pads]; NaN where a pass did not reach a pad.
    """

    t_s: FloatArray
    z_mm: FloatArray
    u_mm: FloatArray


@dataclass(frozen=True, slots=True)
class PadStep:
    """How much higher the last pad reads than the first, mm, with its standard uncertainty."""

    step_mm: float
    u_step_mm: float


def robust_mean(values: FloatArray) -> tuple[float, float]:
    """Mean and its standard uncertainty, with readings past 4 robust deviations left out.

    With a median deviation of zero (quantised readings) nothing is left out.
    """
    middle = np.median(values)
    spread = 1.4826 * np.median(np.abs(values - middle))
    kept = values if spread == 0 else values[np.abs(values - middle) <= 4.0 * spread]
    scatter = float(np.std(kept, ddof=1)) if kept.size > 1 else 0.0
    return float(np.mean(kept)), scatter / np.sqrt(kept.size)


def visit_pads(passes: Sequence[RawPass], pads: Sequence[Pad]) -> PadVisits:
    """Reads every pad in every pass; at least 8 valid readings make a visit.

    A pad lies on a rail that is not straight, so it is not level: its slope, the median of all
    visits', is taken off about its middle. Passes that dwell on one end of it then read the same
    height as those that pass over the whole.
    """
    shape = (len(passes), len(pads))
    t_s, z_mm, u_mm = (np.full(shape, np.nan) for _ in range(3))
    for j, pad in enumerate(pads):
        seen = {i: on for i, one in enumerate(passes) if (on := _on(one, pad)) is not None}
        slope = float(np.median([_slope(x, z) for _, x, z in seen.values()])) if seen else 0.0
        middle = 0.5 * (pad.from_mm + pad.to_mm)
        for i, (t, x, z) in seen.items():
            t_s[i, j] = np.mean(t)
            z_mm[i, j], u_mm[i, j] = robust_mean(z - slope * (x - middle))
    return PadVisits(t_s, z_mm, u_mm)


def pad_step(visits: PadVisits) -> PadStep | None:
    """The last pad over the first, from pairs of a pass and the next one back.

    There and back the last pad is read in the middle of a time that begins and ends on the first
    one: steady drift does not count. None where no pair of passes saw both.
    """
    rise = visits.z_mm[:, -1] - visits.z_mm[:, 0]
    u = np.hypot(visits.u_mm[:, -1], visits.u_mm[:, 0])
    pairs = 0.5 * (rise[:-1:2] + rise[1::2])
    seen = np.isfinite(pairs)
    if not seen.any():
        return None
    u_each = 0.5 * np.hypot(u[:-1:2], u[1::2])[seen]
    count = int(np.count_nonzero(seen))
    scatter = float(np.std(pairs[seen], ddof=1)) if count > 1 else 0.0
    u_mean = max(float(np.sqrt(np.mean(u_each**2))), scatter) / np.sqrt(count)
    return PadStep(float(np.mean(pairs[seen])), u_mean)


def pad_noise(passes: Sequence[RawPass], pads: Sequence[Pad], quantum_mm: float) -> float | None:
    """Noise of one reading while the carriage runs over the pads, mm; None where none was seen.

    The mean of the middle half of all visits: steel shows the sensor alone, and what lies between
    does not. A median of visits would jump: each visit's own is a multiple of half a count.
    """
    seen = [on for one in passes for pad in pads if (on := _on(one, pad)) is not None]
    if not seen:
        return None
    noise = np.sort([noise_mm(z, quantum_mm) for _, _, z in seen])
    outer = noise.size // 4
    return float(np.mean(noise[outer : noise.size - outer]))


def _on(one: RawPass, pad: Pad) -> tuple[FloatArray, FloatArray, FloatArray] | None:
    """(t, x, z) of the readings well on a pad, None where they are too few."""
    on = (
        (one.x_mm > pad.from_mm + PAD_MARGIN_MM)
        & (one.x_mm < pad.to_mm - PAD_MARGIN_MM)
        & np.isfinite(one.z_mm)
    )
    if np.count_nonzero(on) < LEAST_READINGS:
        return None
    return one.t_s[on], one.x_mm[on], one.z_mm[on]


def _slope(x_mm: FloatArray, z_mm: FloatArray) -> float:
    """Of a line through the readings; level where the carriage stood still."""
    x = x_mm - np.mean(x_mm)
    spread = float(x @ x)
    return float(x @ z_mm) / spread if spread > 0.0 else 0.0
