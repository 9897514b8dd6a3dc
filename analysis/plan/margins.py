"""Clearance of every string, every fretted position, over every fret beyond: linear rows."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from analysis.instrument import FloatArray
from analysis.plan.setup import Setup
from analysis.strings.envelope import envelope_mm, pluck_height_mm
from analysis.strings.playing import PlayingProfile
from analysis.strings.strings import StringLoad, bend_mm, bent_tension_n

IntArray = NDArray[np.int_]


@dataclass(frozen=True, slots=True)
class Margins:
    """One row a margin: clearance = nodes @ z + nut @ nut height + saddle @ saddle height + fixed.

    string, fretted, at: int[rows]; fretted 0 is the open string. bend: bool[rows], the string
    pushed aside. needed_mm: what the string's swing needs. u_mm: standard uncertainty of the
    clearance. nodes, nut, saddle: sparse [rows, ...].
    """

    string: IntArray
    fretted: IntArray
    at: IntArray
    bend: NDArray[np.bool_]
    needed_mm: FloatArray
    u_mm: FloatArray
    fixed_mm: FloatArray
    nodes: sparse.csr_array
    nut: sparse.csr_array
    saddle: sparse.csr_array

    def known(self) -> Margins:
        """Without the margins that hang on a top nobody saw."""
        rows = np.isfinite(self.u_mm)
        return Margins(*(getattr(self, f.name)[rows] for f in fields(self)))

    def clearance_mm(
        self, node_z_mm: FloatArray, nut_mm: FloatArray, saddle_mm: FloatArray
    ) -> FloatArray:
        return np.asarray(
            self.nodes @ node_z_mm.ravel()
            + self.nut @ nut_mm
            + self.saddle @ saddle_mm
            + self.fixed_mm
        )


def margins(setup: Setup, loads: tuple[StringLoad, ...], playing: PlayingProfile) -> Margins:
    """All margins of all strings: open, fretted, and bent where the profile bends."""
    parts = [_straight(setup, loads[s], playing, s) for s in range(setup.strings)]
    if playing.bend_semitones > 0:
        parts += [_bent(setup, loads[s], playing, s) for s in range(setup.strings)]
    return _stack(parts, setup)


@dataclass(frozen=True, slots=True)
class _Part:
    string: int
    fretted: IntArray
    at: IntArray
    bend: bool
    needed: FloatArray
    fixed: FloatArray
    #: (row, node, weight) of every node a row uses
    entries: tuple[IntArray, IntArray, FloatArray]
    nut: FloatArray
    saddle: FloatArray


def _pairs(frets: int, first: int) -> tuple[IntArray, IntArray]:
    """(fretted, at) for fretted = first ... frets - 1 and every fret beyond."""
    n, m = np.triu_indices(frets + 1, k=1)
    chosen = n >= first
    return n[chosen], m[chosen]


def _straight(setup: Setup, load: StringLoad, playing: PlayingProfile, s: int) -> _Part:
    """The line from the fret (or nut) to the saddle, over each fret beyond (METHODS 15, 16)."""
    n, m = _pairs(setup.frets, 0)
    x = np.concatenate([[setup.nut_x_mm[s]], setup.x_mm[:, s]])
    length = setup.saddle_x_mm[s] - x[n]
    along = x[m] - x[n]
    share = along / length
    height = pluck_height_mm(
        playing.pluck_force_n, np.asarray(load.tension_n), length, playing.pluck_from_saddle_mm
    )
    needed = envelope_mm(height, along, length, playing.pluck_from_saddle_mm)
    rows = np.arange(n.size)
    fret = n > 0
    row = np.concatenate([rows[fret], rows])
    node = np.concatenate([_node(setup, n[fret] - 1, 2 * s), _node(setup, m - 1, 2 * s)])
    weight = np.concatenate([1.0 - share[fret], -np.ones(n.size)])
    nut = np.where(fret, 0.0, 1.0 - share)
    return _Part(s, n, m, False, needed, np.zeros(n.size), (row, node, weight), nut, share)


def _node(setup: Setup, fret: IntArray, column: IntArray | int) -> IntArray:
    return np.asarray(fret * (2 * setup.strings - 1) + column)


def _bent(setup: Setup, load: StringLoad, playing: PlayingProfile, s: int) -> _Part:
    """The string pushed towards the middle of the board, from there to its saddle.

    It crosses the board's arc, so that other parts of each fret lie under it: the height there
    comes straight between the nodes beside it, the arc put back between them.
    """
    n, m = _pairs(setup.frets, 1)
    length_mm = float(setup.saddle_x_mm[s] - setup.nut_x_mm[s])
    x = setup.x_mm[:, s]
    push = bend_mm(load, length_mm, x - setup.nut_x_mm[s], playing.bend_semitones)
    home = setup.node_y_mm[:, 2 * s]
    side = -1.0 if 2 * s < setup.strings - 1 else 1.0
    start = home + side * push
    saddle_y = setup.instrument.string_y_mm(float(s + 1), setup.saddle_x_mm[s])
    length = setup.saddle_x_mm[s] - x[n - 1]
    along = x[m - 1] - x[n - 1]
    share = along / length
    y = start[n - 1] + share * (saddle_y - start[n - 1])
    tension = bent_tension_n(load.tension_n, playing.bend_semitones)
    height = pluck_height_mm(
        playing.pluck_force_n, np.asarray(tension), length, playing.pluck_from_saddle_mm
    )
    needed = envelope_mm(height, along, length, playing.pluck_from_saddle_mm)
    rows = np.arange(n.size)
    low, low_weight, low_fixed = _across(setup, n - 1, start[n - 1])
    far, far_weight, far_fixed = _across(setup, m - 1, y)
    entries = (
        np.tile(rows, 4),
        np.concatenate([low[0], low[1], far[0], far[1]]),
        np.concatenate(
            [
                (1 - share) * low_weight[0],
                (1 - share) * low_weight[1],
                -far_weight[0],
                -far_weight[1],
            ]
        ),
    )
    fixed = (1 - share) * low_fixed - far_fixed
    return _Part(s, n, m, True, needed, fixed, entries, np.zeros(n.size), share)


def _across(
    setup: Setup, fret: IntArray, y: FloatArray
) -> tuple[tuple[IntArray, IntArray], tuple[FloatArray, FloatArray], FloatArray]:
    """Nodes beside y, their weights, and what the arc rises above the straight line between."""
    columns = setup.node_y_mm[fret]
    right = np.clip(np.sum(columns > y[:, None], axis=1), 1, columns.shape[1] - 1)
    left = right - 1
    rows = np.arange(y.size)
    y0, y1 = columns[rows, left], columns[rows, right]
    share = np.clip((y - y0) / (y1 - y0), 0.0, 1.0)
    rise = 0.5 * setup.curvature[fret] * (y - y0) * (y1 - y)
    nodes = (_node(setup, fret, left), _node(setup, fret, right))
    return nodes, (1.0 - share, share), np.clip(rise, 0.0, None)


def _stack(parts: list[_Part], setup: Setup) -> Margins:
    sizes = [p.fretted.size for p in parts]
    total = sum(sizes)
    offset = np.cumsum([0, *sizes[:-1]])
    string = np.repeat([p.string for p in parts], sizes)
    rows = np.arange(total)

    def joined(name: str) -> np.ndarray:
        return np.concatenate([getattr(p, name) for p in parts])

    row = np.concatenate([p.entries[0] + o for p, o in zip(parts, offset, strict=True)])
    node = np.concatenate([p.entries[1] for p in parts])
    weight = np.concatenate([p.entries[2] for p in parts])
    nodes = sparse.csr_array((weight, (row, node)), shape=(total, setup.node_z_mm.size))
    shape = (total, setup.strings)
    saddle = sparse.csr_array((joined("saddle"), (rows, string)), shape=shape)
    nut = sparse.csr_array((joined("nut"), (rows, string)), shape=shape)
    variance = (nodes**2) @ (setup.u_node_mm.ravel() ** 2)
    variance += (saddle**2) @ (setup.u_saddle_mm**2) + (nut**2) @ (setup.u_nut_mm**2)
    return Margins(
        string + 1,
        joined("fretted"),
        joined("at"),
        np.repeat([p.bend for p in parts], sizes),
        joined("needed"),
        np.sqrt(variance),
        joined("fixed"),
        nodes,
        nut,
        saddle,
    )
