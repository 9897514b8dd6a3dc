"""The ways a neck is bent on the bench, and how far each may go."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.bench.prop import most_lift_mm, prop_lifts
from analysis.instrument import FloatArray, Instrument
from analysis.neck.relief import reliefs
from analysis.rod.rod import Rod

#: The most the bench asks of the rod, mm of relief either way: about what slackening the strings
#: takes out of a neck; and turns (own choice). More than a plan turns it for playing, for it is
#: brought back afterwards.
BENCH_RELIEF_MM = 0.4
BENCH_TURNS = 1.0


@dataclass(frozen=True, slots=True)
class Bending:
    """lifts: [cases, ways, frets, strings], of the tops for each mm of a way; the first case is
    the stated one, the others are what rod and prop may do as well. most_mm: [ways]. The first
    way is the rod, mm of relief added; a second one is the prop, mm of lift at fret 1.
    """

    lifts: FloatArray
    most_mm: FloatArray


def rod_bending(rod: Rod, x_mm: FloatArray, joint: int) -> Bending:
    """The rod alone. Its cases are taken for each mm of relief that is measured, for on the
    bench one goes by the relief: cases that differ in strength alone are one."""
    shapes: list[FloatArray] = []
    for case in rod.cases:
        relief = reliefs(x_mm, case.tops, np.zeros_like(x_mm), joint)
        shape = case.tops / float(np.mean([one.relief_mm for one in relief]))
        if not any(np.allclose(shape, other, rtol=0.0, atol=1e-6) for other in shapes):
            shapes.append(shape)
    most = min(BENCH_RELIEF_MM, BENCH_TURNS * rod.mm_per_turn)
    return Bending(np.array(shapes)[:, None], np.array([most]))


def with_prop(rod: Bending, instrument: Instrument, fret: int, x_mm: FloatArray) -> Bending:
    """The rod and a prop under a fret: every case of the one with every case of the other."""
    props = prop_lifts(instrument, fret, x_mm)
    lifts = np.array([[one[0], other] for one in rod.lifts for other in props])
    return Bending(lifts, np.append(rod.most_mm, most_lift_mm(instrument, fret)))
