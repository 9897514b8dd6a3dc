"""The readings around each fret of a scan, gathered into one rectangular array."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from calibration.profile import Profile

#: Half the width of a window: the round of a crown, well inside its flanks.
HALF_MM = 0.8


@dataclass(frozen=True, slots=True)
class Windows:
    """x_mm, z_mm, ok: [windows, readings], padded with ok False. The rest: [windows]."""

    x_mm: FloatArray
    z_mm: FloatArray
    ok: NDArray[np.bool_]
    noise_mm: FloatArray
    start_x_mm: FloatArray
    start_z_mm: FloatArray

    @property
    def count(self) -> int:
        return int(self.x_mm.shape[0])

    def rows(self, chosen: NDArray[np.intp]) -> Windows:
        """Some of the windows."""
        return Windows(*(getattr(self, f.name)[chosen] for f in fields(self)))

    def keeping(self, ok: NDArray[np.bool_]) -> Windows:
        """The same windows with these readings alone."""
        return replace(self, ok=ok)

    def upright(self, slope: FloatArray) -> Windows:
        """Readings less the slope ([windows], mm/mm) each stands on, about where it starts."""
        off = self.x_mm - self.start_x_mm[:, None]
        return replace(self, z_mm=self.z_mm - slope[:, None] * off)


def gather(
    profiles: Sequence[Profile], centres_mm: Sequence[FloatArray], half_mm: float = HALF_MM
) -> Windows:
    """Windows around every centre of every profile, profile by profile.

    A first look finds each crown's highest stretch (mean of a few neighbours, so that one
    high reading does not decide) within 1 mm of its expected place; the window is centred
    there. It starts at the third highest of its readings.
    """
    seen = [(p.x_mm[p.ok], p.z_mm[p.ok]) for p in profiles]
    offset = np.concatenate([[0], np.cumsum([x.size for x, _ in seen])])
    x, z = (np.concatenate([one[i] for one in seen]) for i in range(2))
    counts = [c.size for c in centres_mm]
    centre = np.concatenate(list(centres_mm))
    whose = np.repeat(np.arange(len(profiles)), counts)

    def between(low: FloatArray, high: FloatArray) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
        ends = np.empty((2, centre.size), dtype=np.intp)
        for i, (mine, _) in enumerate(seen):
            rows = whose == i
            ends[:, rows] = np.searchsorted(mine, [low[rows], high[rows]]) + offset[i]
        columns = np.arange(max(int(np.max(ends[1] - ends[0])), 1))
        index = ends[0][:, None] + columns
        return np.minimum(index, max(x.size - 1, 0)), index < ends[1][:, None]

    found = _summits(x, z, centre, *between(centre - 1.0, centre + 1.0))
    index, ok = between(found - half_mm, found + half_mm)
    if x.size == 0:
        x = z = np.zeros(1)
    near_z = np.where(ok, z[index], 0.0)
    noise = np.repeat([p.noise_mm for p in profiles], counts)
    return Windows(x[index], near_z, ok, noise, found, _third_highest(near_z, ok))


def _summits(
    x: FloatArray,
    z: FloatArray,
    centre: FloatArray,
    index: NDArray[np.intp],
    ok: NDArray[np.bool_],
) -> FloatArray:
    """Middle of the readings within 0.12 mm of the top of the crown near each centre."""
    if index.shape[1] < 5:
        return centre
    smooth = (z[index[:, :-2]] + z[index[:, 1:-1]] + z[index[:, 2:]]) / 3.0
    smooth = np.where(ok[:, 2:], smooth, -np.inf)
    high = smooth > smooth.max(axis=1, keepdims=True) - 0.12
    count = np.count_nonzero(high, axis=1)
    middle = np.sum(np.where(high, x[index[:, 1:-1]], 0.0), axis=1) / np.maximum(count, 1)
    return np.where(np.count_nonzero(ok, axis=1) < 5, centre, middle)


def _third_highest(z: FloatArray, ok: NDArray[np.bool_]) -> FloatArray:
    """Of each window; of fewer than five the middle, of none 0."""
    ranked = np.sort(np.where(ok, z, np.inf), axis=1)
    count = np.count_nonzero(ok, axis=1)
    place = np.maximum(count - 1 - np.minimum(count, 5) // 2, 0)
    return np.where(count > 0, ranked[np.arange(count.size), place], 0.0)
