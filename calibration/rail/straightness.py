"""How straight a profile is, against the least-squares and the minimum-zone reference line.

ISO 12780-1:2011 names both (LSLI, MZLI). Heights are taken along z, not across the line: for
micrometres over hundreds of millimetres that is the same.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from calibration.passes import FloatArray


@dataclass(frozen=True, slots=True)
class Straightness:
    """slope and offset of each reference line, z = offset + slope x; the rest in z's unit.

    peak, valley: highest and deepest point from the least-squares line, both positive; span,
    their sum; rms: root mean square from it. zone: least distance of two parallel lines, one
    over and one under every point; zone_offset is that of the line midway.
    """

    slope: float
    offset: float
    peak: float
    valley: float
    rms: float
    zone: float
    zone_slope: float
    zone_offset: float

    @property
    def span(self) -> float:
        return self.peak + self.valley


def straightness(x: FloatArray, z: FloatArray) -> Straightness:
    """x, z: float[n], n >= 3, x rising. Raises ValueError otherwise.

    The minimum zone is exact: at the best slope one of the two lines lies along an edge of the
    convex hull (width over slope is convex and bends at edges only), so every edge is tried.
    """
    if x.shape != z.shape or x.size < 3 or not np.all(np.diff(x) > 0.0):
        raise ValueError("straightness needs three or more points with rising x")
    middle = float(np.mean(x))
    slope, level = np.polyfit(x - middle, z, 1)
    off = z - level - slope * (x - middle)
    zone_slope, low, high = _narrowest(x - middle, z)
    return Straightness(
        slope=float(slope),
        offset=float(level - slope * middle),
        peak=float(off.max()),
        valley=float(-off.min()),
        rms=float(np.sqrt(np.mean(off**2))),
        zone=high - low,
        zone_slope=zone_slope,
        zone_offset=0.5 * (low + high) - zone_slope * middle,
    )


def _narrowest(x: FloatArray, z: FloatArray) -> tuple[float, float, float]:
    """(slope, lowest and highest z - slope x) where they lie nearest to each other."""
    lower, upper = _lower_hull(x, z), _lower_hull(x, -z)
    corners_x = np.concatenate([x[lower], x[upper]])
    corners_z = np.concatenate([z[lower], z[upper]])
    edges = [np.diff(z[hull]) / np.diff(x[hull]) for hull in (lower, upper)]
    slopes = np.concatenate(edges)
    level = corners_z - slopes[:, None] * corners_x
    low, high = level.min(axis=1), level.max(axis=1)
    best = int(np.argmin(high - low))
    return float(slopes[best]), float(low[best]), float(high[best])


def _lower_hull(x: FloatArray, z: FloatArray) -> list[int]:
    """Corners of the convex hull's lower side, left to right (Andrew's monotone chain)."""
    hull: list[int] = []
    for k in range(x.size):
        while len(hull) > 1:
            a, b = hull[-2], hull[-1]
            if (x[b] - x[a]) * (z[k] - z[a]) > (z[b] - z[a]) * (x[k] - x[a]):
                break
            hull.pop()
        hull.append(k)
    return hull
