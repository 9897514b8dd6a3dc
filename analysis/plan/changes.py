"""What a plan may change, as the columns of the linear programme, and what each does."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import sparse

from analysis.instrument import FloatArray
from analysis.plan.limits import Limits
from analysis.plan.setup import Setup, at_nodes
from analysis.rod.rod import Rod


@dataclass(frozen=True, slots=True)
class Changes:
    """remove_mm: [frets, strings]. saddle_mm, nut_mm: [strings], up positive.

    relief_mm: relief that the rod adds.
    """

    remove_mm: FloatArray
    saddle_mm: FloatArray
    nut_mm: FloatArray
    relief_mm: float


def nothing_changed(setup: Setup) -> Changes:
    """Every screw and every fret as it is."""
    still = np.zeros(setup.strings)
    return Changes(np.zeros((setup.frets, setup.strings)), still, still, 0.0)


@dataclass(frozen=True, slots=True)
class Columns:
    """Where each kind of change stands: cuts fret by fret, saddles up and down, nut up and down,
    relief added and taken with the saddles set again, and with the saddles left. None is ever
    negative, so that each way has its own cost.
    """

    frets: int
    strings: int

    @property
    def cuts(self) -> int:
        return self.frets * self.strings

    @property
    def size(self) -> int:
        return self.cuts + 4 * self.strings + 4

    def split(self, v: FloatArray) -> Changes:
        c, s = self.cuts, self.strings
        up, down, nut_up, nut_down = v[c : c + 4 * s].reshape(4, s)
        cuts = v[:c].reshape(self.frets, s)
        add, take, add_left, take_left = v[c + 4 * s :].tolist()
        return Changes(cuts, up - down, nut_up - nut_down, add - take + add_left - take_left)

    def bounds(self, limits: Limits) -> tuple[FloatArray, FloatArray]:
        """Least and most of every column. What is pinned away from zero is pinned one way."""
        least, most = [limits.least_cut_mm.ravel()], [limits.most_cut_mm.ravel()]
        turned = tuple(np.atleast_1d(one) for one in limits.relief_mm)
        none = (np.zeros(1), np.zeros(1))
        rod = (none, turned) if limits.saddles_left else (turned, none)
        for low, high in (limits.saddle_mm, limits.nut_mm, *rod):
            least += [np.maximum(low, 0.0), np.maximum(-high, 0.0)]
            most += [np.maximum(high, 0.0), np.maximum(-low, 0.0)]
        return np.concatenate(least), np.concatenate(most)

    def costs(self, cut: FloatArray, saddle: float, nut: float, rod: float) -> FloatArray:
        """cut: [frets, strings]; the others for a mm either way."""
        s = self.strings
        screws = [np.full(2 * s, saddle), np.full(2 * s, nut), np.full(4, rod)]
        return np.concatenate([cut.ravel(), *screws])


def least_effect(
    cuts: sparse.csr_array,
    nodes: sparse.csr_array,
    nut: sparse.csr_array,
    saddle: sparse.csr_array,
    rod: Rod,
) -> sparse.csr_array:
    """The least change of `nodes @ z + nut @ n + saddle @ s` with each column, [rows, columns].

    cuts: [rows, frets * strings], what each cut adds. Least over every way the rod may act: a
    column is never negative, and a rod that both adds and takes relief only loses by it, so one
    row stands for the rows of all cases.
    """
    turned = []
    for ways in (rod.cases, rod.left):
        lift = np.stack([nodes @ at_nodes(way.tops).ravel() + saddle @ way.saddle for way in ways])
        turned += [lift.min(axis=0), -lift.max(axis=0)]
    screws = [saddle, -saddle, nut, -nut, sparse.csr_array(np.stack(turned, axis=1))]
    return sparse.csr_array(sparse.hstack([cuts, *screws]))
