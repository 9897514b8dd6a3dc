"""What a prop does: the neck lifted or pressed at one place, the body held."""

from __future__ import annotations

import numpy as np

from analysis.instrument import FloatArray, Instrument, joint_mm

#: A neck may be this much less stiff at the nut than at the joint: one of 20 and 23 mm depth,
#: 43 and 54 mm width has 0.52 of the joint's second moment there (geometry; own choice).
NUT_STIFFNESS = 0.5
#: The most a prop at the nut moves it, mm. That bends a neck at the joint as sharply as
#: strings do that give it 0.4 mm of relief (own choice: what it bears every day, at the most).
MOST_AT_NUT_MM = 1.0
#: Frets a prop is tried under; nearer the joint it may bend the neck next to nothing, by
#: `most_lift_mm` (own choice).
PROP_FRETS = (1, 3, 5)


def prop_places(instrument: Instrument) -> tuple[int, ...]:
    """Frets to try a prop under, none of them in the half of the neck next to the joint."""
    joint, middle = joint_mm(instrument), 0.5 * (len(instrument.strings) + 1)
    return tuple(
        fret for fret in PROP_FRETS if float(instrument.fret_x_mm(fret, middle)) < 0.5 * joint
    )


def prop_lifts(instrument: Instrument, fret: int, x_mm: FloatArray) -> tuple[FloatArray, ...]:
    """Lift of the tops for each mm at fret 1, [frets, strings], in two cases.

    A cantilever held at the joint and loaded at the prop (Roark's Formulas for Stress and
    Strain, table 8.1): bent at a moment that falls straight to none at the prop, straight on
    from there. First of one stiffness all along, then thinning to NUT_STIFFNESS at the nut; a
    real neck lies about between. Past the joint nothing moves: the body is held there.
    """
    joint = joint_mm(instrument)
    middle = 0.5 * (len(instrument.strings) + 1)
    arm = joint - float(instrument.fret_x_mm(fret, middle))
    first = joint - float(instrument.fret_x_mm(1.0, middle))
    away = np.clip(joint - x_mm, 0.0, None)
    thinning = (1.0 - NUT_STIFFNESS) / joint
    shapes = []
    for shape, rate in ((_even, 0.0), (_thinning, thinning)):
        at_one = float(shape(np.array(first), arm, rate))
        shapes.append(np.asarray(shape(away, arm, rate) / at_one))
    return tuple(shapes)


def most_lift_mm(instrument: Instrument, fret: int) -> float:
    """The most a prop under a fret may lift or lower fret 1.

    A prop nearer the joint bends the neck more sharply for each mm: at the joint the curvature
    is 3 h / arm^2 for h at the prop, and may be no more than that of MOST_AT_NUT_MM at the nut.
    """
    joint = joint_mm(instrument)
    middle = 0.5 * (len(instrument.strings) + 1)
    arm = joint - float(instrument.fret_x_mm(fret, middle))
    at_prop = MOST_AT_NUT_MM * (arm / joint) ** 2
    first = joint - instrument.fret_x_mm(1.0, middle)
    return float(at_prop * _even(first, arm, 0.0) / _even(np.array(arm), arm, 0.0))


def nut_lift_mm(instrument: Instrument, fret: int, lift_mm: float) -> float:
    """What the nut moves by when fret 1 does by lift_mm, by the stated case."""
    stated = prop_lifts(instrument, fret, np.zeros((1, 1)))[0]
    return float(lift_mm * stated[0, 0])


def _even(away: FloatArray, arm: float, _: float) -> FloatArray:
    """s^2 (3 a - s) / 6, past the load on along the tangent."""
    s = np.minimum(away, arm)
    return np.asarray(s**2 * (3.0 * arm - s) / 6.0 + 0.5 * arm**2 * np.clip(away - arm, 0.0, None))


def _thinning(away: FloatArray, arm: float, rate: float) -> FloatArray:
    """Curvature (a - s) / (1 - q s) twice integrated, past the load on along the tangent."""
    s = np.minimum(away, arm)
    rest = arm - 1.0 / rate
    bend = s**2 / (2.0 * rate) + rest / rate**2 * ((1 - rate * s) * np.log1p(-rate * s) + rate * s)
    slope = arm / rate - rest / rate * np.log1p(-rate * arm)
    return np.asarray(bend + slope * np.clip(away - arm, 0.0, None))
