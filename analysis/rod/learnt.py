"""The truss rod as scans at two settings or more show it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray, Instrument
from analysis.rod.gain import UNLIKELY, Gain, fit_gain
from analysis.rod.rod import (
    MOST_TURNS,
    RELIEF_PER_TURN_MM,
    Rod,
    RodCase,
    relief_cases,
    same_action,
)
from analysis.rod.turned import Turned, effects, past_mm, tops_mm

#: The relief a plan moves at once: what bends the neck so far pulls on the rod so hard, whatever
#: its thread; and no more than a turn.
MOST_RELIEF_MM = MOST_TURNS * RELIEF_PER_TURN_MM
MOST_LEARNT_TURNS = 1.0


@dataclass(frozen=True, slots=True)
class TurnSeen:
    """One turn: from where to where, and what it added to relief."""

    from_turns: float
    to_turns: float
    relief_change_mm: float
    u_relief_change_mm: float

    @property
    def mm_per_turn(self) -> float:
        """Relief that a whole turn of tightening would have taken out."""
        return -self.relief_change_mm / (self.to_turns - self.from_turns)


@dataclass(frozen=True, slots=True)
class LearntRod:
    """A rod and what it was learnt from.

    u_tops: [frets, strings], of the stated case's tops per mm of relief, the gain's apart. uneven:
    how far the bend between nut and joint is from an even one at its worst fret, per mm of
    relief. follows: how the tops past the joint lie, 0 still and 1 along the tangent of an even
    bend; NaN where too few frets are there. agree: the chance that turns of one effect differ
    as these do; None for one turn, which does not tell. slack: so many of the loosest turns did
    next to nothing, and were left out.
    """

    rod: Rod
    seen: tuple[TurnSeen, ...]
    u_tops: FloatArray
    uneven: float
    u_uneven: float
    twist_mrad_per_turn: float
    u_twist_mrad_per_turn: float
    follows: float
    u_follows: float
    agree: float | None
    slack: int

    @property
    def linear(self) -> bool | None:
        """Whether all turns are of one effect; None where one turn cannot tell."""
        if self.slack:
            return False
        return None if self.agree is None else self.agree >= UNLIKELY


@dataclass(frozen=True, slots=True)
class _PerRelief:
    """An `Effect` per mm of relief added, and the covariance that is left with relief known."""

    values: FloatArray
    covariance: FloatArray

    @property
    def u(self) -> FloatArray:
        return np.sqrt(np.clip(np.diag(self.covariance), 0.0, None))


def learn_rod(turned: Sequence[Turned], instrument: Instrument, strung: bool) -> LearntRod:
    """What the rod does to the neck, by the turns made between scans of one state, in order.

    A small bend adds to any other, strings or none, for a beam's equation is linear in its loads:
    so each turn's movement is the rod's. strung: of that state; an unstrung neck stands in for a
    strung one, less truly. Raises ValueError where the scans share too little, or show no effect
    of tightening.
    """
    seen = effects(turned, instrument)
    count = instrument.frets * len(instrument.strings)
    relief = np.array([one.values[count] for one in seen])
    gain = fit_gain(turned, seen, relief, strung)
    values = np.sum([a * one.values for a, one in zip(gain.share, seen, strict=True)], axis=0)
    covariance = np.sum(
        [w * one.covariance for w, one in zip(gain.weight, seen, strict=True)], axis=0
    )
    unit = _per_relief(values, covariance, gain.mm_per_turn, count)
    x, _ = tops_mm(instrument)
    even = relief_cases(instrument, x)[1]
    past_seen = all(one.past_seen for one in seen)
    tops, u_tops = unit.values[:count].reshape(x.shape), unit.u[:count].reshape(x.shape)
    off = np.abs(tops - even.tops)[: instrument.body_joint_fret - 1]
    worst = np.unravel_index(int(np.argmax(off)), off.shape)
    tangent = float(np.mean(even.tops[-1] / past_mm(instrument)[-1])) if past_seen else np.nan
    return LearntRod(
        _rod(unit, gain, instrument, past_seen),
        tuple(
            TurnSeen(one.from_turns, one.to_turns, float(change), effect.u_relief_mm)
            for one, change, effect in zip(turned, relief, seen, strict=True)
        ),
        u_tops,
        float(off[worst]),
        float(u_tops[worst]),
        float(values[-1]),
        float(np.sqrt(covariance[-1, -1])),
        float(unit.values[-2] / tangent),
        float(unit.u[-2] / tangent),
        gain.agree,
        gain.slack,
    )


def _per_relief(
    values: FloatArray, covariance: FloatArray, mm_per_turn: float, relief: int
) -> _PerRelief:
    """relief: its place among the values, which a turn of tightening takes mm_per_turn off."""
    unit = values / -mm_per_turn
    at_relief = (np.arange(unit.size) == relief).astype(float)
    factor = (np.eye(unit.size) - np.outer(unit, at_relief)) / -mm_per_turn
    return _PerRelief(unit, factor @ covariance @ factor.T)


def _rod(unit: _PerRelief, gain: Gain, instrument: Instrument, past_seen: bool) -> Rod:
    """The stated shape; weaker and stronger by 2 u; bent otherwise by 2 u, the way that is known
    least, which is given all that is unknown of the shape; and the saddle off by 2 u.

    The saddle goes where the tops past the joint point. Where they do not tell, tops and saddle
    stay still there, or go on along the tangent, as with the default.
    """
    x, _ = tops_mm(instrument)
    tops = unit.values[: x.size].reshape(x.shape)
    away = instrument.saddle_x_mm(instrument.string_numbers) - x[instrument.body_joint_fret - 1]
    saddle = unit.values[-2] * away
    u_saddle = unit.u[-2] * away * past_seen
    past = past_mm(instrument) > 0.0
    still, follows = relief_cases(instrument, x)
    if not past_seen:
        tops, saddle = np.where(past, 0.0, tops), still.saddle
    known = ~past.ravel() | past_seen
    sizes, ways = np.linalg.eigh(unit.covariance[: x.size, : x.size] * np.outer(known, known))
    off = (ways[:, -1] * np.sqrt(np.sum(np.clip(sizes, 0.0, None)))).reshape(x.shape)
    doubt = 2.0 * gain.u_mm_per_turn / gain.mm_per_turn
    bounds = [RodCase(tops, saddle)]
    if not past_seen:
        bounds.append(RodCase(np.where(past, follows.tops, tops), follows.saddle))
    cases = [
        case
        for one in bounds
        for case in (
            one,
            *(RodCase(one.tops * g, one.saddle * g) for g in (1.0 - doubt, 1.0 + doubt)),
            *(RodCase(one.tops + way * off, one.saddle) for way in (-2.0, 2.0)),
            *(RodCase(one.tops, one.saddle + way * u_saddle) for way in (-2.0, 2.0)),
        )
    ]
    most = min(MOST_RELIEF_MM / gain.mm_per_turn, MOST_LEARNT_TURNS)
    cases_set = same_action(cases, instrument, x)
    return Rod(cases_set, tuple(cases), gain.mm_per_turn, gain.u_mm_per_turn, most, learnt=True)
