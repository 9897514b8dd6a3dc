"""What one turn of the rod did to a neck: two scans of one state, the rod turned in between."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray, Instrument, joint_mm
from analysis.movement.changes import BENDS
from analysis.movement.movement import Field
from analysis.movement.untouched import untouched_movement
from analysis.neck.neck import Neck

#: Where along the chord from fret 1 to the joint the deepest place is looked for.
_PLACES = np.linspace(0.2, 0.8, 61)
#: So many frets past the joint show how the neck goes on there.
FEWEST_PAST = 2


@dataclass(frozen=True, slots=True)
class Turned:
    """Two scans of one state, the earlier first. turns: from where the rod stood when the job was
    opened, tightening positive. planned_um: [frets, strings], what may have been filed off in
    between; such tops take no part."""

    before: Neck
    after: Neck
    from_turns: float
    to_turns: float
    planned_um: FloatArray

    @property
    def turns(self) -> float:
        return self.to_turns - self.from_turns

    def field(self, instrument: Instrument) -> Field:
        """How the neck moved, by tops and board. Raises ValueError: the scans share too little."""
        return untouched_movement(self.before, self.after, self.planned_um, joint_mm(instrument))


@dataclass(frozen=True, slots=True)
class Effect:
    """A movement as numbers, after less before, with their joint covariance.

    values: float[n + 3]: tops [frets x strings] in the frame where nut and joint stay, mm; mean
    relief of the strings, mm; mean slope of the tops past the joint, mm/mm; twist from nut to
    joint, mrad. u_relief_mm: with what clamping may have bent. past_seen: enough frets past the
    joint moved as a beam does, so that slope and tops there are known.
    """

    values: FloatArray
    covariance: FloatArray
    u_relief_mm: float
    past_seen: bool


def effects(turned: Sequence[Turned], instrument: Instrument) -> list[Effect]:
    """Of every turn. Relief is taken where the turns together have bent the neck deepest."""
    fields = [one.field(instrument) for one in turned]
    depth = sum(
        one.turns * _depths(field, instrument) for one, field in zip(turned, fields, strict=True)
    )
    deepest = float(_PLACES[int(np.argmax(np.abs(depth)))])
    out = []
    for one, field in zip(turned, fields, strict=True):
        rows = _rows(field, instrument, deepest)
        covariance = rows @ field.covariance @ rows.T
        relief = instrument.frets * len(instrument.strings)
        clamped = [
            _u_clamping_mm(neck, instrument.body_joint_fret, deepest)
            for neck in (one.before, one.after)
        ]
        u = float(np.sqrt(covariance[relief, relief] + clamped[0] ** 2 + clamped[1] ** 2))
        past_seen = _past_seen(one, field, instrument.body_joint_fret)
        out.append(Effect(rows @ field.coefficients, covariance, u, past_seen))
    return out


def relief_change_mm(turned: Turned, instrument: Instrument) -> tuple[float, float]:
    """What was added to relief in the middle of the chord, mean of the strings, and its u."""
    field = turned.field(instrument)
    row = _chord_rows(field, instrument, 0.5)
    clamped = [
        _u_clamping_mm(neck, instrument.body_joint_fret, 0.5)
        for neck in (turned.before, turned.after)
    ]
    u = np.sqrt(row @ field.covariance @ row + clamped[0] ** 2 + clamped[1] ** 2)
    return float(row @ field.coefficients), float(u)


def tops_mm(instrument: Instrument) -> tuple[FloatArray, FloatArray]:
    """x and y of every top, [frets, strings]."""
    frets = np.arange(1.0, instrument.frets + 1)[:, None]
    strings = instrument.string_numbers[None, :]
    x = instrument.fret_x_mm(frets, strings)
    return x, instrument.string_y_mm(strings, x)


def past_mm(instrument: Instrument) -> FloatArray:
    """How far every top lies past the joint, [frets, strings], 0 before it."""
    x, _ = tops_mm(instrument)
    return np.asarray(np.clip(x - x[instrument.body_joint_fret - 1], 0.0, None))


def _chord_rows(field: Field, instrument: Instrument, share: float) -> FloatArray:
    """Depth under the chord from fret 1 to the joint, at a share of it, mean of the strings."""
    strings, joint = instrument.string_numbers, instrument.body_joint_fret
    first = instrument.fret_x_mm(1.0, strings)
    last = instrument.fret_x_mm(float(joint), strings)
    at = first + share * (last - first)
    ends = (1.0 - share) * _at(field, instrument, first) + share * _at(field, instrument, last)
    return np.asarray(np.mean(ends - _at(field, instrument, at), axis=0))


def _at(field: Field, instrument: Instrument, x_mm: FloatArray) -> FloatArray:
    """Rows of the movement under each string, at x_mm [strings]."""
    return field.design(x_mm, instrument.string_y_mm(instrument.string_numbers, x_mm))


def _depths(field: Field, instrument: Instrument) -> FloatArray:
    rows = np.array([_chord_rows(field, instrument, float(share)) for share in _PLACES])
    return np.asarray(rows @ field.coefficients)


def _rows(field: Field, instrument: Instrument, deepest: float) -> FloatArray:
    """From the field's coefficients to the values of an `Effect`."""
    x, y = tops_mm(instrument)
    nut = instrument.fret_x_mm(0.0, instrument.string_numbers)
    last = x[instrument.body_joint_fret - 1]
    share = ((x - nut) / (last - nut))[..., None]
    ends = (_at(field, instrument, nut), _at(field, instrument, last))
    tops = field.design(x, y).reshape(*x.shape, -1)
    tops = tops - (1.0 - share) * ends[0] - share * ends[1]
    past = past_mm(instrument)
    # straight from the joint on, by least squares; nothing where no fret is
    squares = np.maximum(np.sum(past**2, axis=0), 1.0)[:, None]
    slope = np.mean(np.einsum("fs,fsk->sk", past, tops) / squares, axis=0)
    relief = _chord_rows(field, instrument, deepest)
    twist = 1e3 * (_turn(field, instrument, last) - _turn(field, instrument, nut))
    return np.vstack([tops.reshape(x.size, -1), relief, slope, twist])


def _past_seen(turned: Turned, field: Field, joint: int) -> bool:
    """Most lanes of a fret or two must have seen it in both scans, and have moved with the neck."""
    frets = turned.after.top_mm.shape[0]
    seen = [np.isfinite(neck.top_mm).mean(axis=1) > 0.5 for neck in (turned.before, turned.after)]
    with_neck = field.odd[:frets].mean(axis=1) < 0.5
    return bool(np.count_nonzero((seen[0] & seen[1] & with_neck)[joint:]) >= FEWEST_PAST)


def _turn(field: Field, instrument: Instrument, x_mm: FloatArray) -> FloatArray:
    """Slope across, between the outer strings, at the middle of x_mm."""
    x = np.full(2, float(np.mean(x_mm)))
    y = instrument.string_y_mm(instrument.string_numbers[[0, -1]], x)
    upper, lower = field.design(x, y)
    return np.asarray((upper - lower) / (y[0] - y[1]))


def _u_clamping_mm(neck: Neck, joint: int, deepest: float) -> float:
    """What clamping may have put into the depth, where repeated scans have shown it."""
    bends = neck.terms.parts.get(BENDS)
    if bends is None:
        return 0.0
    by_fret = np.sqrt(np.nanmean(bends[:joint] ** 2, axis=1))
    middle = round(deepest * (joint - 1))
    weights = np.array([1.0 - deepest, deepest, 1.0])
    return float(np.linalg.norm(weights * by_fret[[0, joint - 1, middle]]))
