"""Least squares over crowns whose frets are a little out of place, passes over one neck."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.passes import FloatArray

#: Where a crown's top lies over its slot, apart from what all lanes of a fret share (own
#: estimate), mm.
OWN_LANE_MM = 0.01


@dataclass(frozen=True, slots=True)
class Strip:
    """The crowns one pass found.

    placement: which laying of the neck on the rig; lane: which line along the neck.
    fret: int[n]; pattern_mm: where they stand on the neck by the scale length; counted_mm: where
    the carriage counted them; u_mm: of that, float[n] each. half_mm: a crown was placed by its
    sides up to this far from its top.
    """

    placement: int
    lane: int
    fret: NDArray[np.int_]
    pattern_mm: FloatArray
    counted_mm: FloatArray
    u_mm: FloatArray
    half_mm: float


@dataclass(frozen=True, slots=True)
class Lines:
    """All crowns in one row, and the squares to be made least.

    x_mm: float[n], counted, from the middle; off_mm: float[n], pattern less count; u_mm.
    design: float[n + held, unknowns], whitened: a place for each pass, the scale, and for each
    fret and each of its lanes how far it is out of place, held to 0 by its own spread.
    """

    middle_mm: float
    misplaced_mm: float
    half_mm: float
    x_mm: FloatArray
    off_mm: FloatArray
    u_mm: FloatArray
    design: FloatArray
    scale_column: int
    fret_columns: slice

    def whitened(self, columns: FloatArray) -> FloatArray:
        """float[n] or float[n, k] over the crowns, as the design has it."""
        held = self.design.shape[0] - self.x_mm.size
        white = (columns.T / self.u_mm).T
        return np.concatenate([white, np.zeros((held, *columns.shape[1:]))])


@dataclass(frozen=True, slots=True)
class Solved:
    """unknowns, covariance of the whitened squares; rest: float[n], crowns' whitened residuals.

    free: degrees of freedom those have.
    """

    unknowns: FloatArray
    covariance: FloatArray
    rest: FloatArray
    free: float

    @property
    def grown(self) -> float:
        """How much more than their u's say the crowns scatter, as a variance; never less than 1."""
        return max(1.0, float(self.rest @ self.rest) / self.free)


def lines(strips: Sequence[Strip], misplaced_mm: float) -> Lines:
    """Sets the squares up. misplaced_mm: standard deviation of a fret's place, > 0."""
    x = np.concatenate([s.counted_mm for s in strips])
    middle = 0.5 * float(x.min() + x.max())
    off = np.concatenate([s.pattern_mm - (s.counted_mm - middle) for s in strips])
    u = np.concatenate([s.u_mm for s in strips])
    which = np.repeat(np.arange(len(strips)), [s.fret.size for s in strips])
    frets, fret = np.unique(np.concatenate([s.fret for s in strips]), return_inverse=True)
    lane = np.unique([s.lane for s in strips], return_inverse=True)[1][which]
    own, single = np.unique(lane * frets.size + fret, return_inverse=True)
    blocks = [_indicator(which, len(strips)), (x - middle)[:, None]]
    blocks += [_indicator(fret, frets.size), _indicator(single, own.size)]
    rows = np.concatenate(blocks, axis=1) / u[:, None]
    spread = np.repeat([misplaced_mm, OWN_LANE_MM], [frets.size, own.size])
    held = np.zeros((spread.size, rows.shape[1]))
    held[:, len(strips) + 1 :] = np.diag(1.0 / spread)
    first = len(strips) + 1
    return Lines(
        middle, misplaced_mm, max(s.half_mm for s in strips), x - middle, off, u,
        np.concatenate([rows, held]), len(strips), slice(first, first + frets.size),
    )  # fmt: skip


def _indicator(index: NDArray[np.int_], size: int) -> FloatArray:
    return np.asarray(index[:, None] == np.arange(size), dtype=float)


def solve(setting: Lines, more: FloatArray | None = None) -> Solved:
    """Least squares, with more columns float[n, k] over the crowns after the design's own."""
    design = setting.design
    if more is not None:
        design = np.concatenate([design, setting.whitened(more)], axis=1)
    covariance = np.linalg.pinv(design.T @ design, hermitian=True)
    unknowns = covariance @ design.T @ setting.whitened(setting.off_mm)
    crowns = design[: setting.x_mm.size]
    rest = setting.off_mm / setting.u_mm - crowns @ unknowns
    spent = float(np.einsum("ij,jk,ik->", crowns, covariance, crowns))
    return Solved(unknowns, covariance, rest, max(setting.x_mm.size - spent, 1.0))
