"""How far each thing may be changed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray, Instrument
from analysis.neck.shape import Shape
from analysis.plan.setup import Setup
from analysis.plan.target import Target, followed, within_reach
from analysis.rod.rod import Rod
from analysis.strings.playing import PlayingProfile

#: Along a fret a cut may change this much for each mm across, so that a file can follow and
#: the crown stays an arc: some hundredths from one string to the next, where the board's own arc
#: slopes by several times as much under the outer strings (own choice).
CUT_SLOPE = 0.01
#: Saddles are adjusted this far, down and up (common practice, no source; values from memory).
SADDLE_RANGE_MM = (-1.0, 1.5)
#: A nut slot is filed or filled this far, and never below this height over fret 1.
NUT_RANGE_MM = (-0.3, 0.3)
LEAST_NUT_GAP_MM = 0.15


@dataclass(frozen=True, slots=True)
class Limits:
    """most_cut_mm, least_cut_mm: [frets, strings]. saddle_mm, nut_mm: (lowest, highest), each
    [strings]; what is set has both alike.

    shape_short_mm: [frets, strings], what the asked-for shape wants off beyond least_cut_mm, for
    more cannot be taken there. relief_mm: (least, most) relief the rod adds; negative takes relief
    away. guard: how many standard uncertainties a margin must clear. highest_action_mm: [strings].
    saddles_left: they are not set again when the rod has been turned.
    """

    most_cut_mm: FloatArray
    least_cut_mm: FloatArray
    shape_short_mm: FloatArray
    saddle_mm: tuple[FloatArray, FloatArray]
    nut_mm: tuple[FloatArray, FloatArray]
    relief_mm: tuple[float, float]
    highest_action_mm: FloatArray
    guard: float
    saddles_left: bool = False


def limits_for(
    setup: Setup, shape: Shape, playing: PlayingProfile, target: Target, rod: Rod
) -> Limits:
    """Bounds from the fret heights, the playing profile and what is asked.

    A fret is never cut below the least height its player needs, its own uncertainty left
    standing; where the height is unknown, or it is held back, it is not cut at all.
    """
    most = most_cut_mm(setup, shape, playing, target)
    least, short = _asked_cut_mm(setup, target, most)
    return Limits(
        most,
        least,
        short,
        _saddle_range(setup, target),
        _nut_range(setup, target),
        _relief_range(rod, target),
        playing.highest_action(setup.strings),
        playing.guard,
        "saddles" in target.keep or bool(target.saddle_mm),
    )


def most_cut_mm(setup: Setup, shape: Shape, playing: PlayingProfile, target: Target) -> FloatArray:
    """[frets, strings]: what may come off."""
    least = playing.least_height_mm(setup.frets)[:, None]
    room = shape.height_mm - playing.guard * shape.u_height_mm - least
    room = np.clip(np.nan_to_num(room), 0.0, None)
    return np.where(target.held.where(setup.frets, setup.strings), 0.0, room)


def most_step_mm(setup: Setup) -> FloatArray:
    """[frets, strings - 1]: what neighbouring cuts along a fret may differ by."""
    return np.asarray(CUT_SLOPE * np.abs(np.diff(setup.node_y_mm[:, ::2], axis=1)))


def _asked_cut_mm(
    setup: Setup, target: Target, most_mm: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """What must come off for the asked-for shape, and what of it cannot."""
    nothing = np.zeros_like(most_mm)
    if target.shape is None:
        return nothing, nothing
    ceiling = target.shape.height_mm(setup.x_mm, setup.top_mm)
    asked = np.clip(np.nan_to_num(setup.top_mm - ceiling), 0.0, None)
    step = most_step_mm(setup)
    reach = within_reach(asked, most_mm, step)
    return followed(reach, step), asked - reach


def _saddle_range(setup: Setup, target: Target) -> tuple[FloatArray, FloatArray]:
    one = np.zeros(setup.strings) if "saddles" in target.keep else np.ones(setup.strings)
    low, high = SADDLE_RANGE_MM
    return _pinned(low * one, high * one, target.saddle_mm)


def _nut_range(setup: Setup, target: Target) -> tuple[FloatArray, FloatArray]:
    one = 0.0 if "nut" in target.keep else 1.0
    low, high = nut_range_mm(setup.instrument)
    return _pinned(one * low, one * high, target.nut_mm)


def nut_range_mm(instrument: Instrument) -> tuple[FloatArray, FloatArray]:
    """How far each slot goes down and up, [strings]."""
    gap = np.asarray(instrument.nut_gap_mm)
    lowest = -np.clip(gap - LEAST_NUT_GAP_MM, 0.0, -NUT_RANGE_MM[0])
    return np.asarray(lowest), np.full(gap.size, NUT_RANGE_MM[1])


def _relief_range(rod: Rod, target: Target) -> tuple[float, float]:
    if "rod" in target.keep:
        return 0.0, 0.0
    if target.turns is not None:
        relief = -target.turns * rod.mm_per_turn
        return relief, relief
    return -rod.most_relief_mm, rod.most_relief_mm


def _pinned(
    low: FloatArray, high: FloatArray, changes: Mapping[int, float]
) -> tuple[FloatArray, FloatArray]:
    for string, change in changes.items():
        low[string - 1] = high[string - 1] = change
    return low, high
