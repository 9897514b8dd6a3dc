"""How far each thing may be changed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray
from analysis.neck.shape import Shape
from analysis.plan.setup import Setup
from analysis.rod.rod import Rod
from analysis.strings.playing import PlayingProfile

#: What a plan may be told to leave as it is.
KEEPABLE = ("rod", "nut", "saddles")
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
    """most_cut_mm: [frets, strings]. saddle_mm, nut_mm: (lowest, highest), each [strings].

    relief_mm: (least, most) relief the rod adds; negative takes relief away. guard: how many
    standard uncertainties a margin must clear. highest_action_mm: [strings]. saddles_left: they
    are not set again when the rod has been turned.
    """

    most_cut_mm: FloatArray
    saddle_mm: tuple[FloatArray, FloatArray]
    nut_mm: tuple[FloatArray, FloatArray]
    relief_mm: tuple[float, float]
    highest_action_mm: FloatArray
    guard: float
    saddles_left: bool = False


def limits_for(
    setup: Setup, shape: Shape, playing: PlayingProfile, keep: frozenset[str], rod: Rod
) -> Limits:
    """Bounds from the fret heights, the playing profile and what is kept.

    keep: any of "rod", "nut", "saddles"; what is kept is not touched. A fret is never cut
    below the least height its player needs, its own uncertainty left standing; where the
    height is unknown it is not cut at all.
    """
    least = playing.least_height_mm(setup.frets)[:, None]
    room = shape.height_mm - playing.guard * shape.u_height_mm - least
    gap = np.asarray(setup.instrument.nut_gap_mm)
    lowest_nut = -np.clip(gap - LEAST_NUT_GAP_MM, 0.0, -NUT_RANGE_MM[0])
    one = np.ones(setup.strings)
    saddle = 0.0 if "saddles" in keep else 1.0
    nut = 0.0 if "nut" in keep else 1.0
    relief = 0.0 if "rod" in keep else rod.most_relief_mm
    return Limits(
        np.clip(np.nan_to_num(room), 0.0, None),
        (SADDLE_RANGE_MM[0] * saddle * one, SADDLE_RANGE_MM[1] * saddle * one),
        (lowest_nut * nut, NUT_RANGE_MM[1] * nut * one),
        (-relief, relief),
        playing.highest_action(setup.strings),
        playing.guard,
        "saddles" in keep,
    )
