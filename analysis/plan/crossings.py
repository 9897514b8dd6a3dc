"""Where one string, straight or bent, runs over the frets beyond: one line a pair of frets."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from analysis.plan.setup import Setup
from analysis.strings.strings import StringLoad, bend_mm

IntArray = NDArray[np.int_]


@dataclass(frozen=True, slots=True)
class Part:
    """The rows of one string, straight or bent; all arrays are [rows] but for `entries`.

    entries: (row, node, weight) of every node a row uses. nut, saddle: weights of this string's
    own nut and saddle height. fixed_mm: what the board's arc adds.
    """

    string: int
    fretted: IntArray
    at: IntArray
    bend: bool
    length_mm: FloatArray
    along_mm: FloatArray
    fixed_mm: FloatArray
    entries: tuple[IntArray, IntArray, FloatArray]
    nut: FloatArray
    saddle: FloatArray


def straight_part(setup: Setup, s: int) -> Part:
    """The line from the fret (or nut) to the saddle, over each fret beyond (METHODS 16)."""
    n, m = _pairs(setup.frets, 0)
    x = np.concatenate([[setup.nut_x_mm[s]], setup.x_mm[:, s]])
    length = setup.saddle_x_mm[s] - x[n]
    along = x[m] - x[n]
    share = along / length
    rows = np.arange(n.size)
    fret = n > 0
    row = np.concatenate([rows[fret], rows])
    node = np.concatenate([_node(setup, n[fret] - 1, 2 * s), _node(setup, m - 1, 2 * s)])
    weight = np.concatenate([1.0 - share[fret], -np.ones(n.size)])
    nut = np.where(fret, 0.0, 1.0 - share)
    none = np.zeros(n.size)
    return Part(s, n, m, False, length, along, none, (row, node, weight), nut, share)


def bent_part(setup: Setup, load: StringLoad, semitones: float, s: int) -> Part:
    """The string pushed towards the middle of the board, from there to its saddle.

    It crosses the board's arc, so that other parts of each fret lie under it: the height there
    comes straight between the nodes beside it, the arc put back between them.
    """
    n, m = _pairs(setup.frets, 1)
    length_mm = float(setup.saddle_x_mm[s] - setup.nut_x_mm[s])
    x = setup.x_mm[:, s]
    push = bend_mm(load, length_mm, x - setup.nut_x_mm[s], semitones)
    side = -1.0 if 2 * s < setup.strings - 1 else 1.0
    start = setup.node_y_mm[:, 2 * s] + side * push
    saddle_y = setup.instrument.string_y_mm(float(s + 1), setup.saddle_x_mm[s])
    length = setup.saddle_x_mm[s] - x[n - 1]
    along = x[m - 1] - x[n - 1]
    share = along / length
    y = start[n - 1] + share * (saddle_y - start[n - 1])
    rows = np.arange(n.size)
    low, low_weight, low_fixed = _across(setup, n - 1, start[n - 1])
    far, far_weight, far_fixed = _across(setup, m - 1, y)
    weights = [(1 - share) * w for w in low_weight] + [-w for w in far_weight]
    entries = (np.tile(rows, 4), np.concatenate([*low, *far]), np.concatenate(weights))
    fixed = (1 - share) * low_fixed - far_fixed
    return Part(s, n, m, True, length, along, fixed, entries, np.zeros(n.size), share)


def _pairs(frets: int, first: int) -> tuple[IntArray, IntArray]:
    """(fretted, at) for fretted = first ... frets - 1 and every fret beyond."""
    n, m = np.triu_indices(frets + 1, k=1)
    chosen = n >= first
    return n[chosen], m[chosen]


def _node(setup: Setup, fret: IntArray, column: IntArray | int) -> IntArray:
    return np.asarray(fret * (2 * setup.strings - 1) + column)


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
