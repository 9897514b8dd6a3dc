"""What a ball draws over a pin or an edge, worn or not."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from calibration.passes import FloatArray

#: Share of the cap's own radius that is fitted to each side: slopes up to one in one.
SHARE = 0.7


@dataclass(frozen=True, slots=True)
class Touched:
    """What the tip rode over: radius 0 is a sharp edge. u_mm: of that radius."""

    radius_mm: float
    u_mm: float

    @property
    def words(self) -> str:
        return f"a pin of {2.0 * self.radius_mm:g} mm" if self.radius_mm else "a sharp edge"


def worn_trace(u_mm: FloatArray, radius_mm: float, flat_mm: float, over_mm: float) -> FloatArray:
    """Height below its top of the trace of a ball of radius_mm, a flat worn on it, over a round
    of over_mm (0 is a sharp edge).

    Over the flat it keeps its height; at the flat's corner the round turns about that corner
    (radius over_mm); beyond, the centres lie on the circle of both radii. With no flat only that
    circle is left. Positions past 0.98 of it are held there.
    """
    half, v = 0.5 * flat_mm, np.abs(u_mm)
    outer = radius_mm + over_mm
    below = float(np.sqrt(max(radius_mm**2 - half**2, 0.0)))
    beyond = np.sqrt(outer**2 - np.minimum(v, 0.98 * outer) ** 2) - over_mm - below
    past = np.clip(v - half, 0.0, over_mm)
    corner = np.sqrt(np.maximum(over_mm**2 - past**2, 0.0)) - over_mm
    on_corner = v < half * (1.0 + over_mm / radius_mm)
    return np.where(v < half, 0.0, np.where(on_corner, corner, beyond))
