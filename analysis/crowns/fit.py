"""Crown tops of a whole scan at once, by the shape and not by the highest reading."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.crowns.crown import Joint, Updated, together, updated
from analysis.crowns.flats import commonness, nearness
from analysis.crowns.grid import FLATS_MM, SLOPES, VALUES
from analysis.crowns.noise import noise_seen
from analysis.crowns.radius import BendPrior, bend_from_others
from analysis.crowns.sweep import Sweep, bend_prior
from analysis.crowns.trace import Eye
from analysis.crowns.wild import tame
from analysis.crowns.windows import Windows
from analysis.instrument import FloatArray

#: A window with fewer readings shows no top.
FEWEST = 8
#: Twice u is to hold the top with this chance (JCGM 100, 6.3.3).
HELD = 0.95
#: A crown whose reduced chi-square is over this has another shape than round with a flat.
WORST_MISFIT = 10.0


@dataclass(frozen=True, slots=True)
class Crowns:
    """One entry for each window, NaN where the fit had too few readings.

    x_mm: middle of the crown, carriage. z_mm: top; u_noise_mm: its standard uncertainty from
    noise; u_shape_mm: from not knowing curvature and flat, which passes over one crown share.
    flat_mm, u_flat_mm: expected width of the flat, and the spread of its chances. radius_mm:
    crown radius. misfit: reduced chi-square by the noise that the scan's crowns show.
    """

    x_mm: FloatArray
    z_mm: FloatArray
    u_noise_mm: FloatArray
    u_shape_mm: FloatArray
    flat_mm: FloatArray
    radius_mm: FloatArray
    misfit: FloatArray
    u_flat_mm: FloatArray


def fit_crowns(
    windows: Windows,
    ball_mm: float,
    groups: Sequence[int] | None = None,
    frets: Sequence[int] | None = None,
    strings: Sequence[float] | None = None,
    spot_mm: float = 0.0,
) -> Crowns:
    """Tops of all windows: fitted at every flat, averaged by how well each flat does.

    Position, top and curvature are fitted by Gauss-Newton at a few flat widths (`sweep`), after
    readings that no shape explains are left out (`tame`). All else is closed form on tables over
    the widths: the passes over one crown are multiplied (`together`), the curvature gets a prior
    from the other crowns of its fret (`bend_from_others`), the flat one from all crowns of the
    scan, those nearby the most (`commonness`). The top is the mean over the widths by posterior
    chance, and its variance holds each fit's own and the spread between them. So a flat too
    small to be seen costs uncertainty, not silent bias.

    groups: windows that show the same crown, as the passes both ways do. frets: windows on one
    fret, crowned by one file. strings: a window's string, halves between two; without them all
    are taken for alike. Tops lie under a ball of ball_mm or a spot of light of spot_mm.
    """
    eye = Eye(ball_mm, spot_mm)
    group = np.arange(windows.count) if groups is None else np.asarray(groups)
    _, first, crown = np.unique(group, return_index=True, return_inverse=True)
    fret = _of_crown(frets, first).astype(np.intp)
    near = nearness(fret, _of_crown(strings, first))
    windows, found = tame(windows, eye)
    bend, spread = bend_prior(eye)
    joint = together(found, crown, spread)
    noise2, scale = noise_seen(windows, joint, crown)
    wide = BendPrior(np.zeros(first.size), np.full(first.size, spread))
    broad = updated(joint, spread, wide, scale)
    prior = bend_from_others(*_bends(broad, _chance(broad, near)), fret, bend, spread)
    given = updated(joint, spread, prior, scale)
    means = _Means(found, joint, given, _chance(given, near), crown)
    count = np.count_nonzero(windows.ok, axis=1)
    few = count < FEWEST

    def known(values: FloatArray) -> FloatArray:
        return np.where(few, np.nan, values)

    flat = np.where(means.chance[0] > 0.5, 0.0, FLATS_MM @ means.chance)
    u_flat = np.sqrt(np.sum(means.chance * (FLATS_MM[:, None] - flat) ** 2, axis=0))
    return Crowns(
        known(means.over(found.x_mm, found.x_by)),
        known(means.top_mm()),
        known(np.sqrt(means.over(found.var_z_mm2) * scale[crown])),
        known(np.sqrt(means.shape_mm2())[crown]),
        known(flat[crown]),
        known(eye.radius_mm(bend + np.sum(means.chance * given.bend, axis=0))[crown]),
        known(means.over(found.chi2, found.chi2_by) / np.maximum(count - 3, 1) / noise2),
        known(u_flat[crown]),
    )


def _of_crown(labels: Sequence[float] | None, first: NDArray[np.intp]) -> FloatArray:
    return np.zeros(first.size) if labels is None else np.asarray(labels, dtype=float)[first]


def _chance(given: Updated, near: FloatArray) -> FloatArray:
    """float[flats, crowns]: posterior chance of each flat."""
    likelihood = np.exp(given.log_likelihood)
    chance = commonness(likelihood, near) * likelihood
    return np.asarray(chance / chance.sum(axis=0))


def _bends(broad: Updated, chance: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """[crowns]: mean curvature over the flats; its variance from noise, and from the flat."""
    mean = np.sum(chance * broad.bend, axis=0)
    noise = np.sum(chance / broad.precision, axis=0)
    return mean, noise, np.sum(chance * (broad.bend - mean) ** 2, axis=0)


@dataclass(frozen=True, slots=True)
class _Means:
    """Means over the flats, by chance [flats, crowns]."""

    found: Sweep
    joint: Joint
    given: Updated
    chance: FloatArray
    crown: NDArray[np.intp]

    def over(self, table: FloatArray, by: FloatArray | None = None) -> FloatArray:
        """Of a table of the nodes, [nodes, windows], with its slopes: [windows]. A mean is
        linear, so the chances are weighed at the nodes instead of the table on the grid."""
        mean = np.sum((VALUES.T @ self.chance)[:, self.crown] * table, axis=0)
        if by is not None:
            mean = mean + np.sum((SLOPES.T @ self.chance)[:, self.crown] * by, axis=0)
        return np.asarray(mean)

    def top_mm(self) -> FloatArray:
        """[windows]: each pass's top at the crown's curvature, moved as its prior moved that."""
        moved = np.sum(self.chance * self._moved_mm(), axis=0)
        top = self.over(self.joint.nodes_z_mm, self.joint.nodes_z_by)
        return np.asarray(top + moved[self.crown])

    def shape_mm2(self) -> FloatArray:
        """[crowns]: variance of the top from not knowing flat and curvature.

        Of the flat: the spread of the tops over it, or a quarter of the square that 95 % of the
        chance lies within, where that is more. A small flat that is one chance in ten lies beyond
        two standard deviations, and twice u is to hold it.
        """
        top = self.joint.z_mm + self._moved_mm()
        off2 = (top - np.sum(self.chance * top, axis=0)) ** 2
        order = np.argsort(off2, axis=0)
        up_to = np.cumsum(np.take_along_axis(self.chance, order, axis=0), axis=0)
        last = np.argmax(up_to >= HELD, axis=0)[None, :]
        held = np.take_along_axis(off2, np.take_along_axis(order, last, axis=0), axis=0)[0]
        bend = np.sum(self.chance * self.joint.z_by_bend**2 / self.given.precision, axis=0)
        return np.asarray(np.maximum(np.sum(self.chance * off2, axis=0), held / 4.0) + bend)

    def _moved_mm(self) -> FloatArray:
        return np.asarray(self.joint.z_by_bend * (self.given.bend - self.joint.bend))
