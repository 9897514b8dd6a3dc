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

    def rows(self, chosen: NDArray[np.int_]) -> Windows:
        """Some of the windows."""
        return Windows(*(getattr(self, f.name)[chosen] for f in fields(self)))

    def without(self, far: NDArray[np.bool_]) -> Windows:
        """The same windows with some readings left out."""
        return replace(self, ok=self.ok & ~far)


def gather(
    profiles: Sequence[Profile], centres_mm: Sequence[FloatArray], half_mm: float = HALF_MM
) -> Windows:
    """Windows around every centre of every profile, profile by profile.

    A first look finds each crown's highest stretch (mean of a few neighbours, so that one
    high reading does not decide) within 1 mm of its expected place; the window is centred
    there.
    """
    parts = [_of_profile(p, c, half_mm) for p, c in zip(profiles, centres_mm, strict=True)]
    longest = max(x.shape[1] for x, _, _, _ in parts)
    x, z, inside = (np.concatenate([_widen(part[i], longest) for part in parts]) for i in range(3))
    ok = inside > 0
    noise = np.concatenate(
        [np.full(len(c), p.noise_mm) for p, c in zip(profiles, centres_mm, strict=True)]
    )
    start_x = np.concatenate([part[3] for part in parts])
    start_z = np.array(
        [
            np.median(np.sort(zi[oki])[-5:]) if oki.any() else 0.0
            for zi, oki in zip(z, ok, strict=True)
        ]
    )
    return Windows(x, z, ok, noise, start_x, start_z)


def _widen(a: FloatArray, columns: int) -> FloatArray:
    return np.pad(a, ((0, 0), (0, columns - a.shape[1])))


def _of_profile(
    profile: Profile, centres: FloatArray, half: float
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    x, z = profile.x_mm[profile.ok], profile.z_mm[profile.ok]
    if x.size == 0:
        nothing = np.zeros((centres.size, 1))
        return nothing, nothing, nothing, centres
    found = np.array([_summit(x, z, c) for c in centres])
    first = np.searchsorted(x, found - half)
    last = np.searchsorted(x, found + half)
    columns = np.arange(max(int((last - first).max()), 1))
    index = first[:, None] + columns
    ok = index < last[:, None]
    index = np.minimum(index, max(x.size - 1, 0))
    return x[index], z[index], ok.astype(float), found


def _summit(x: FloatArray, z: FloatArray, centre: float) -> float:
    """Middle of the readings within 0.12 mm of the top of the crown near `centre`."""
    first, last = np.searchsorted(x, [centre - 1.0, centre + 1.0])
    if last - first < 5:
        return float(centre)
    smooth = np.convolve(z[first:last], np.ones(3) / 3.0, mode="valid")
    top = np.max(smooth)
    high = np.flatnonzero(smooth > top - 0.12) + first + 1
    return float(np.mean(x[high]))
