"""Where the crest of a round string runs, from lanes on either side of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import least_squares

from calibration.passes import FloatArray, Pad
from calibration.profile import Profile
from calibration.rail.cells import Cells, gather_cells, off_pads
from calibration.rail.map import RailError

#: Lanes lie this share of the radius to either side of where the crest should be.
ASIDE = 0.5
#: Further than this share of the radius from the crest a reading is not trusted.
TRUSTED = 0.95
#: Found where it moved by less than this share of the radius.
NEAR = 0.3
#: Readings of two lanes are compared with this scatter at least.
FINEST_MM = 5e-4
#: Cells that two lanes must share.
LEAST_CELLS = 100


@dataclass(frozen=True, slots=True)
class RoundString:
    """A string as seen from above: radius, and its ends in carriage x and y."""

    number: int
    radius_mm: float
    from_mm: tuple[float, float]
    to_mm: tuple[float, float]

    def y_mm(self, x_mm: FloatArray) -> FloatArray:
        """Where its crest should be."""
        (x0, y0), (x1, y1) = self.from_mm, self.to_mm
        return np.asarray(y0 + (x_mm - x0) / (x1 - x0) * (y1 - y0))

    @property
    def reach_mm(self) -> float:
        """How far aside two lanes still lie on it."""
        return (TRUSTED - ASIDE) * self.radius_mm

    def drop_mm(self, aside_mm: FloatArray) -> FloatArray:
        """How much lower its upper side is beside its crest; held from TRUSTED outwards."""
        off = np.clip(np.abs(aside_mm), 0.0, TRUSTED * self.radius_mm)
        return np.asarray(self.radius_mm - np.sqrt(self.radius_mm**2 - off**2))


def find_crest(
    string: RoundString, lanes: Sequence[Sequence[Profile]], pads: Sequence[Pad]
) -> RoundString:
    """The string where it really runs, or nearer to it, from passes over lanes on either side.

    A string is straight from above, and so is a lane: how far aside it runs is one straight line,
    two numbers, and the difference between lanes on either side tells them from thousands of
    readings. It moves no further than `reach_mm` at once: a lane beside the string tells only
    which way. Raises RailError where fewer than two lanes see the string.
    """
    cells = [_cells(string, lane, pads) for lane in lanes]
    if len(cells) < 2:
        raise RailError(f"string {string.number}: found {len(cells)} lanes; at least 2 are needed")
    nut, saddle = _aside(string, [_pair(string, one, cells[0]) for one in cells[1:]])
    (x0, y0), (x1, y1) = string.from_mm, string.to_mm
    return replace(string, from_mm=(x0, y0 + float(nut)), to_mm=(x1, y1 + float(saddle)))


def is_found(before: RoundString, after: RoundString) -> bool:
    """Whether a string moved so little that both lanes beside it were well on it."""
    ends = zip((before.from_mm, before.to_mm), (after.from_mm, after.to_mm), strict=True)
    return all(abs(new[1] - old[1]) < NEAR * before.radius_mm for old, new in ends)


@dataclass(frozen=True, slots=True)
class _Pair:
    """Two lanes on common cells: float[cells] each. beside: each lane's y over the string's."""

    share: FloatArray
    beside: FloatArray
    beside_other: FloatArray
    off_mm: FloatArray
    u_mm: FloatArray

    def misfit(self, string: RoundString, ends_mm: FloatArray) -> FloatArray:
        line = ends_mm[0] + self.share * (ends_mm[1] - ends_mm[0])
        drops = [string.drop_mm(each - line) for each in (self.beside, self.beside_other)]
        return np.asarray((self.off_mm + drops[0] - drops[1]) / self.u_mm)


@dataclass(frozen=True, slots=True)
class _Lane:
    """Cells of one lane and its y over the string's at each."""

    cells: Cells
    beside: FloatArray


def _cells(string: RoundString, lane: Sequence[Profile], pads: Sequence[Pad]) -> _Lane:
    if not any(p.ok.any() for p in lane):
        raise RailError(f"string {string.number}: no valid reading at all; is it at pitch?")
    cells = gather_cells(lane)
    inside = (cells.x_mm > string.from_mm[0]) & (cells.x_mm < string.to_mm[0])
    cells = cells.take(inside & off_pads(cells.x_mm, pads))
    y = np.interp(cells.x_mm, lane[0].x_mm, lane[0].y_mm)
    return _Lane(cells, np.asarray(y - string.y_mm(cells.x_mm)))


def _pair(string: RoundString, one: _Lane, other: _Lane) -> _Pair:
    _, left, right = np.intersect1d(one.cells.number, other.cells.number, return_indices=True)
    if left.size < LEAST_CELLS:
        raise RailError(
            f"string {string.number}: two lanes along it share {left.size} cells; allowed "
            f"{LEAST_CELLS} or more; is it at pitch, and under the sensor along the whole neck?"
        )
    x = one.cells.x_mm[left]
    share = (x - string.from_mm[0]) / (string.to_mm[0] - string.from_mm[0])
    # what lies beside the string may be far below it
    off = np.clip(
        one.cells.z_mm[left] - other.cells.z_mm[right], -string.radius_mm, string.radius_mm
    )
    u = np.hypot(one.cells.u_mm[left], other.cells.u_mm[right])
    return _Pair(share, one.beside[left], other.beside[right], off, np.maximum(u, FINEST_MM))


def _aside(string: RoundString, pairs: Sequence[_Pair]) -> FloatArray:
    """How far the crest lies beside its place at both ends, float[2]."""

    def misfit(ends_mm: FloatArray) -> FloatArray:
        return np.concatenate([pair.misfit(string, ends_mm) for pair in pairs])

    most = string.reach_mm
    found = least_squares(
        misfit, np.zeros(2), bounds=(-most, most), loss="soft_l1", x_scale=string.radius_mm
    )
    return np.asarray(found.x, dtype=float)
