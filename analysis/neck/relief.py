"""Relief: how far the fret tops lie under their chord, string by string."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray


@dataclass(frozen=True, slots=True)
class Relief:
    """Depth under the chord from fret 1 to the body-joint fret, at the deepest fret."""

    relief_mm: float
    u_relief_mm: float
    at_fret: int


def reliefs(
    x_mm: FloatArray, top_mm: FloatArray, u_mm: FloatArray, joint: int
) -> tuple[Relief, ...]:
    """One for each string. x_mm, top_mm, u_mm: [frets, strings]; joint: the body-joint fret."""
    return tuple(
        _relief(x_mm[:joint, s], top_mm[:joint, s], u_mm[:joint, s]) for s in range(x_mm.shape[1])
    )


def _relief(x: FloatArray, z: FloatArray, u: FloatArray) -> Relief:
    if not (np.isfinite(z[0]) and np.isfinite(z[-1]) and z.size > 2):
        return Relief(np.nan, np.nan, 0)
    share = (x - x[0]) / (x[-1] - x[0])
    depth = z[0] + share * (z[-1] - z[0]) - z
    deepest = 1 + int(np.nanargmax(depth[1:-1]))
    part = share[deepest]
    u_depth = np.sqrt(u[deepest] ** 2 + ((1 - part) * u[0]) ** 2 + (part * u[-1]) ** 2)
    return Relief(float(depth[deepest]), float(u_depth), deepest + 1)
