"""The top of something narrow that lies across the rail, cut out of every pass over it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import median_filter

from calibration.passes import FloatArray, Pad, RawPass
from calibration.spikes import noise_mm

#: Clear of the pads and whatever holds them.
CLEAR_MM = 3.0
#: Fewer readings than this on a cap do not show its shape.
LEAST_READINGS = 15
#: What else stands out by this share of what the highest does is not to be overlooked.
RIVAL_SHARE = 0.4
#: What rises by less than this is no pin and no edge.
LEAST_OUT_MM = 0.3


class ProbeError(ValueError):
    """What was scanned does not tell the tip or the spot."""


@dataclass(frozen=True, slots=True)
class Cap:
    """One pass over a cap.

    x_mm, z_mm: float[n], about the highest reading: both 0 there. direction: +1 or -1.
    sigma_mm: standard deviation of one reading; sigma_x_mm: of its place.
    """

    x_mm: FloatArray
    z_mm: FloatArray
    direction: int
    sigma_mm: float
    sigma_x_mm: float

    def within(self, half_mm: float, middle_mm: float = 0.0) -> Cap:
        """The readings nearer to a middle than this."""
        near = np.abs(self.x_mm - middle_mm) <= half_mm
        return self.rows(near)

    def rows(self, chosen: NDArray[np.bool_]) -> Cap:
        """Some of the readings."""
        return replace(self, x_mm=self.x_mm[chosen], z_mm=self.z_mm[chosen])


def cut_caps(
    passes: Sequence[RawPass], pads: Sequence[Pad], quantum_mm: tuple[float, float], half_mm: float
) -> list[Cap]:
    """The stretch of half_mm to both sides of the highest reading between the pads, pass by pass.

    quantum_mm: the carriage's and the sensor's smallest steps. The highest after a running
    median of three, which a single spike does not pass. Raises ProbeError where nothing stands
    out, or more than one thing does.
    """
    low = min(pad.to_mm for pad in pads) + CLEAR_MM
    high = max(pad.from_mm for pad in pads) - CLEAR_MM
    return [_cut(one, (low, high), quantum_mm, half_mm) for one in passes]


def _cut(
    one: RawPass, between_mm: tuple[float, float], quantum_mm: tuple[float, float], half_mm: float
) -> Cap:
    seen = np.isfinite(one.z_mm) & (one.x_mm > between_mm[0]) & (one.x_mm < between_mm[1])
    x, z = one.x_mm[seen], one.z_mm[seen]
    if x.size < LEAST_READINGS:
        raise ProbeError("nothing was seen between the pads; is the pin or edge on the rig?")
    smooth = median_filter(z, size=3, mode="nearest")
    top = int(np.argmax(smooth))
    near = np.abs(x - x[top]) <= half_mm
    _check_alone(x, smooth, top, half_mm)
    if np.count_nonzero(near) < LEAST_READINGS:
        raise ProbeError(
            f"{np.count_nonzero(near)} readings on what stands out at x = {x[top]:.1f} mm; at "
            f"least {LEAST_READINGS} are needed: scan slower or at a higher rate"
        )
    return Cap(
        x[near] - x[top],
        z[near] - smooth[top],
        one.direction,
        noise_mm(z[near], quantum_mm[1]),
        quantum_mm[0] / float(np.sqrt(12.0)),
    )


def _check_alone(x: FloatArray, smooth: FloatArray, top: int, half_mm: float) -> None:
    """Something stands out, and nothing nearly as high behind a dip: a neck has many crowns."""
    level = float(np.median(smooth))
    if smooth[top] - level < LEAST_OUT_MM:
        raise ProbeError(
            "nothing stands out between the pads; is it the pin or edge that lies there, and not a "
            "straightedge?"
        )
    least = level + RIVAL_SHARE * float(smooth[top] - level)
    for side in (slice(top, None), slice(top, None, -1)):
        away, z = np.abs(x[side] - x[top]), smooth[side]
        lowest = np.minimum.accumulate(z)
        rival = (away > 2.0 * half_mm + 1.0) & (z > least) & (lowest < 0.5 * (least + level))
        if rival.any():
            raise ProbeError(
                f"what stands out at x = {x[top]:.1f} mm is not alone: so does what stands at "
                f"{x[side][rival][0]:.1f} mm; allowed one pin or edge and nothing beside it: is "
                "the neck on the rig?"
            )
