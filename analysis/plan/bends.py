"""One string pushed aside: where it then lies, and how far it may be bent before it chokes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray
from analysis.plan.clearances import MET_MM
from analysis.plan.crossings import Part, bent_part
from analysis.plan.margins import U_TENSION, Margins
from analysis.plan.setup import Setup
from analysis.strings.bends import bend_mm, bend_sides, pushed_tension_n
from analysis.strings.strings import StringLoad

#: Widths looked at, semitones; nobody bends wider than the last (common practice, no source).
WIDTHS = np.arange(0.5, 4.01, 0.5)


@dataclass(frozen=True, slots=True)
class State:
    """A neck with its screws set and its frets cut. setup: as if nothing were cut. cut_mm:
    [frets, strings], what has come off under the strings; between them a file takes what lies
    straight between their cuts.
    """

    setup: Setup
    cut_mm: FloatArray

    def clearance_mm(self, rows: Margins) -> FloatArray:
        """Of every margin, [rows]."""
        setup = self.setup
        screws = rows.clearance_mm(setup.node_z_mm, setup.nut_mm, setup.saddle_mm)
        return np.asarray(screws + rows.cuts @ self.cut_mm.ravel())


@dataclass(frozen=True, slots=True)
class Bend:
    """A string bent at a fret, over a fret beyond. start_y_mm: across, where the finger holds it;
    y_mm: where it crosses the other; string_y_mm: where it runs straight, at both. share: of the
    way to its saddle. curvature: 1/mm, of the board at both.
    """

    share: float
    start_y_mm: float
    y_mm: float
    string_y_mm: tuple[float, float]
    curvature: tuple[float, float]


def bend_over(
    setup: Setup, load: StringLoad, semitones: float, string: int, fretted: int, at: int
) -> Bend:
    """The widest bend there, to the side on which it crosses more of the board's arc."""
    s, n, m = string - 1, fretted - 1, at - 1
    x, saddle_x, y = setup.x_mm[:, s], setup.saddle_x_mm[s], setup.node_y_mm[:, 2 * s]
    push = float(_push_mm(setup, load, semitones, s)[n])
    share = float((x[m] - x[n]) / (saddle_x - x[n]))
    saddle_y = float(setup.instrument.string_y_mm(float(string), saddle_x))
    starts = [float(y[n]) + side * push for side in bend_sides(string, setup.strings)]
    # what an arc adds over a chord goes with the square of how far the chord reaches across it
    start = max(starts, key=lambda one: abs(one - saddle_y))
    return Bend(
        share,
        start,
        start + share * (saddle_y - start),
        (float(y[n]), float(y[m])),
        (float(setup.curvature[n]), float(setup.curvature[m])),
    )


def widest_semitones(
    state: State,
    loads: tuple[StringLoad, ...],
    rows: Margins,
    guard: float,
    cleared_semitones: FloatArray,
) -> FloatArray:
    """Semitones up to which each string may be bent at each fret, [frets, strings]; one of WIDTHS.

    As wide as no fret comes nearer than its swing, guard included: that of the straight string,
    less as the bend makes it tighter. 0 where there is no room already. The last fret has none
    beyond it; a top that nobody saw is the one bridged there. rows: margins of the straight
    strings among them. cleared_semitones: [frets, strings], up to where the margins themselves
    say that a bend is clear.
    """
    setup = state.setup
    frets = np.arange(1, setup.frets + 1)
    straight = ~rows.bend & (rows.fretted > 0)
    out = np.zeros((setup.frets, setup.strings))
    for s, load in enumerate(loads):
        mine = straight & (rows.string == s + 1)
        swing = np.zeros((setup.frets + 1, setup.frets + 1))
        swing[rows.fretted[mine], rows.at[mine]] = rows.swing_mm[mine]
        clear = np.ones(setup.frets + 1, dtype=bool)
        for width in WIDTHS.tolist():
            push = _push_mm(setup, load, width, s)
            tension = pushed_tension_n(load, *_lengths_mm(setup, s), push)
            for side in bend_sides(s + 1, setup.strings):
                start = setup.node_y_mm[:, 2 * s] + side * push
                for whole in (False, True):
                    part = bent_part(setup, s, frets, start, tension, whole)
                    needs = swing[part.fretted, part.at] * load.tension_n / part.tension_n
                    clearance, u = _clearance_mm(part, state, needs)
                    clear[part.fretted[clearance < needs + guard * u - MET_MM]] = False
            clear[1:] |= width <= cleared_semitones[:, s]
            out[clear[1:], s] = width
    return out


def _lengths_mm(setup: Setup, s: int) -> tuple[float, FloatArray]:
    """(nut to saddle, nut to each fret)."""
    whole = float(setup.saddle_x_mm[s] - setup.nut_x_mm[s])
    return whole, setup.x_mm[:, s] - setup.nut_x_mm[s]


def _push_mm(setup: Setup, load: StringLoad, semitones: float, s: int) -> FloatArray:
    return bend_mm(load, *_lengths_mm(setup, s), semitones)


def _clearance_mm(part: Part, state: State, needs_mm: FloatArray) -> tuple[FloatArray, FloatArray]:
    """(clearance, standard uncertainty of clearance less need), [rows]; as margins have them."""
    setup, size, s = state.setup, part.at.size, part.string
    row, node, weight = part.entries
    tops = np.bincount(row, weight * setup.node_z_mm.ravel()[node], minlength=size)
    each = (weight * np.nan_to_num(setup.u_node_mm).ravel()[node]) ** 2
    variance = np.bincount(row, each, minlength=size)
    variance = variance + (part.saddle * setup.u_saddle_mm[s]) ** 2 + part.u_unseen_mm**2
    variance = variance + (U_TENSION * needs_mm) ** 2
    cut = np.zeros_like(setup.node_z_mm)
    cut[:, ::2] = state.cut_mm
    row, node, weight = part.cuts
    lower = np.bincount(row, weight * cut.ravel()[node], minlength=size)
    clearance = tops - lower + part.saddle * setup.saddle_mm[s] + part.fixed_mm
    return np.asarray(clearance), np.sqrt(variance)
