"""Where one string, straight or bent, runs over the frets beyond: one line a pair of frets."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from analysis.plan.setup import Setup
from analysis.strings.bends import bend_mm, bend_sides, pushed_tension_n
from analysis.strings.playing import PlayingProfile
from analysis.strings.strings import StringLoad

IntArray = NDArray[np.int_]
Entries = tuple[IntArray, IntArray, FloatArray]
#: Which nodes a line across is laid through.
ALL, STRINGS, MIDWAY = slice(None), slice(0, None, 2), slice(1, None, 2)
#: A bend is looked at on its way, in these parts of its push: a little aside it may lie over a
#: fret that it clears when it is wide.
PARTS_OF_PUSH = (0.2, 0.6, 1.0)
#: A string's dent is no wider than this to either side; beyond it the crown may be whole (a string
#: and its play in the fingers; common practice, no source).
DENT_HALF_WIDTH_MM = 2.0
#: A crown half way between two lanes lies off the line through them by about this, standard
#: uncertainty: beside a dent of some 0.03 mm it may be a quarter of that higher or lower, evenly
#: spread (own choice).
U_BETWEEN_LANES_MM = 0.005
#: Two nodes, their weights, what the board's arc adds.
Across = tuple[tuple[IntArray, IntArray], tuple[FloatArray, FloatArray], FloatArray]


@dataclass(frozen=True, slots=True)
class Part:
    """Rows of one string, straight or bent; all arrays are [rows] but for `entries` and `cuts`.

    entries: (row, node, weight) of every node a row uses. cuts: (row, node, weight) of every cut
    under a string: between strings a file takes what lies straight between their cuts, whatever
    the crown's shape is there. nut, saddle: weights of this string's
    own nut and saddle height. fixed_mm: what the board's arc adds. u_unseen_mm: of crowns where
    no lane ran.
    """

    string: int
    fretted: IntArray
    at: IntArray
    bend: bool
    tension_n: FloatArray
    length_mm: FloatArray
    along_mm: FloatArray
    fixed_mm: FloatArray
    u_unseen_mm: FloatArray
    entries: Entries
    cuts: Entries
    nut: FloatArray
    saddle: FloatArray


def straight_part(setup: Setup, load: StringLoad, s: int) -> Part:
    """The line from the fret (or nut) to the saddle, over each fret beyond (METHODS 16)."""
    n, m = _pairs(setup.frets)
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
    none, tension = np.zeros(n.size), np.full(n.size, load.tension_n)
    entries = (row, node, weight)
    return Part(s, n, m, False, tension, length, along, none, none, entries, entries, nut, share)


def bent_parts(setup: Setup, load: StringLoad, playing: PlayingProfile, s: int) -> list[Part]:
    """Every way the string is bent at the frets where it is, on its way there and at its widest.

    Twice: over what lies straight between the nodes beside it, and, once it has left its dent,
    over crowns as high as midway between the strings. Both must be cleared, for nothing says how
    wide a dent is.
    """
    length_mm = float(setup.saddle_x_mm[s] - setup.nut_x_mm[s])
    fret_mm = setup.x_mm[:, s] - setup.nut_x_mm[s]
    widest = bend_mm(load, length_mm, fret_mm, playing.bend_semitones)
    frets = np.flatnonzero(playing.bends(setup.frets)) + 1
    out = []
    for part in PARTS_OF_PUSH:
        tension = pushed_tension_n(load, length_mm, fret_mm, part * widest)
        for side in bend_sides(s + 1, setup.strings):
            start = setup.node_y_mm[:, 2 * s] + side * part * widest
            out += [bent_part(setup, s, frets, start, tension, whole) for whole in (False, True)]
    return out


def bent_part(
    setup: Setup, s: int, frets: IntArray, start_mm: FloatArray, tension_n: FloatArray, whole: bool
) -> Part:
    """The string pushed to `start_mm` at each of the frets, from there to its saddle.

    It crosses the board's arc, so that other parts of each fret lie under it. whole: over crowns
    that are whole beside the dents, and only those.
    """
    n, m = _pairs(setup.frets)
    n, m = n[np.isin(n, frets)], m[np.isin(n, frets)]
    x = setup.x_mm[:, s]
    saddle_y = setup.instrument.string_y_mm(float(s + 1), setup.saddle_x_mm[s])
    share = (x[m - 1] - x[n - 1]) / (setup.saddle_x_mm[s] - x[n - 1])
    y = start_mm[n - 1] + share * (saddle_y - start_mm[n - 1])
    if whole:
        past = _from_a_string(setup, m - 1, y) > DENT_HALF_WIDTH_MM
        n, m, share, y = n[past], m[past], share[past], y[past]
    length = setup.saddle_x_mm[s] - x[n - 1]
    start = start_mm[n - 1]
    low, far = _across(setup, n - 1, start), _across(setup, m - 1, y, MIDWAY if whole else ALL)
    fixed = (1 - share) * low[2] - far[2]
    # nothing at a lane, most half way between two
    far_unseen, low_unseen = (4.0 * np.abs(w[0] * w[1]) for w in (far[1], low[1]))
    unseen = U_BETWEEN_LANES_MM * np.hypot(far_unseen, (1.0 - share) * low_unseen)
    return Part(
        s,
        n,
        m,
        True,
        tension_n[n - 1],
        length,
        share * length,
        fixed,
        unseen,
        _line(share, low, far),
        _line(share, _across(setup, n - 1, start, STRINGS), _across(setup, m - 1, y, STRINGS)),
        np.zeros(n.size),
        share,
    )


def _line(share: FloatArray, low: Across, far: Across) -> Entries:
    """Height of the line from `low` to the saddle, less that of `far` under it."""
    weights = [(1 - share) * w for w in low[1]] + [-w for w in far[1]]
    rows = np.tile(np.arange(share.size), 4)
    return rows, np.concatenate([*low[0], *far[0]]), np.concatenate(weights)


def _pairs(frets: int) -> tuple[IntArray, IntArray]:
    """(fretted, at) for the nut, 0, and every fret but the last, and every fret beyond."""
    n, m = np.triu_indices(frets + 1, k=1)
    return n, m


def _node(setup: Setup, fret: IntArray, column: IntArray | int) -> IntArray:
    return np.asarray(fret * (2 * setup.strings - 1) + column)


def _from_a_string(setup: Setup, fret: IntArray, y: FloatArray) -> FloatArray:
    return np.asarray(np.abs(setup.node_y_mm[fret, ::2] - y[:, None]).min(axis=1))


def _across(setup: Setup, fret: IntArray, y: FloatArray, which: slice = ALL) -> Across:
    """Two nodes about y, their weights, and what the arc adds to the straight line through them.

    Past the outermost strings their height is carried on along the arc; a line through places
    midway between the strings is carried on as far as the outermost string.
    """
    columns = setup.node_y_mm[fret, which]
    last = columns.shape[1] - 1
    right = np.clip(np.sum(columns > y[:, None], axis=1), min(1, last), last)
    left = np.maximum(right - 1, 0)
    rows = np.arange(y.size)
    y0, y1 = columns[rows, left], columns[rows, right]
    apart = np.where(y1 == y0, 1.0, y1 - y0)
    past = 0.5 if which == MIDWAY else 0.0
    share = np.clip((y - y0) / apart, -past, 1.0 + past)
    arc = 0.5 * setup.curvature[fret] * ((1.0 - share) * y0**2 + share * y1**2 - y**2)
    numbers = np.arange(setup.node_y_mm.shape[1])[which]
    nodes = (_node(setup, fret, numbers[left]), _node(setup, fret, numbers[right]))
    return nodes, (1.0 - share, share), arc
