"""The truss rod as scans at two settings or more show it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.stats import chi2

from analysis.instrument import FloatArray, Instrument
from analysis.rod.rod import MOST_TURNS, RELIEF_PER_TURN_MM, Rod, RodCase, same_action
from analysis.rod.turned import FEWEST_PAST, Effect, Turned, effects, past_mm, tops_mm

#: A turn by hand is judged to 10 degrees either way (own estimate), anywhere between alike
#: (JCGM 100, 4.3.7).
U_TURN = 10.0 / 360.0 / 3.0**0.5
#: The strings press the neck along itself, and a pressed beam bends more: by the secant formula
#: of an eccentric pull, 4 % more on a neck of 378 N m2 and 450 mm under 700 N. So much an
#: unstrung neck may tell wrong of a strung one.
STAND_IN = 0.04
#: Less than so many deviations from nothing is not learnt.
SEEN = 3.0
#: Turns that agree worse than one time in a hundred by chance are not of one effect.
UNLIKELY = 0.01
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

    follows: how the tops past the joint lie, 0 still and 1 along the tangent of an even bend; NaN
    where too few frets are there. agree: the chance that turns of one effect differ as these do;
    None for one turn, which does not tell. slack: the loosest stretch does least, and they do
    not agree.
    """

    rod: Rod
    seen: tuple[TurnSeen, ...]
    twist_mrad_per_turn: float
    u_twist_mrad_per_turn: float
    follows: float
    u_follows: float
    agree: float | None

    @property
    def linear(self) -> bool | None:
        """Whether all turns are of one effect; None where one turn cannot tell."""
        return None if self.agree is None else self.agree >= UNLIKELY

    @property
    def slack(self) -> bool:
        loosest = min(self.seen, key=lambda one: min(one.from_turns, one.to_turns))
        return self.linear is False and loosest == min(self.seen, key=lambda one: one.mm_per_turn)


def learn_rod(turned: Sequence[Turned], instrument: Instrument, strung: bool) -> LearntRod:
    """What the rod does to the neck, by the turns made between scans of one state, in order.

    A small bend adds to any other, strings or none (a beam's equation is linear in its loads), so
    each turn's movement is the rod's, and one effect a turn is fitted to all of them by weighted
    least squares: each turn's relief has the scans' u and the hand's, and neighbouring turns share
    a scan. Turns that scatter wider than that widen u (Birge's ratio). Raises ValueError where
    the scans share too little, or show no effect of tightening.
    """
    seen = effects(turned, instrument)
    turns = np.array([one.turns for one in turned])
    frets, strings = instrument.frets, len(instrument.strings)
    relief = np.array([one.values[frets * strings] for one in seen])
    shared = _shared(turned)
    gain, u_gain, share, misfit = _effect_per_turn(turns, relief, seen, shared)
    agree = float(chi2.sf(misfit, turns.size - 1)) if turns.size > 1 else None
    u_gain *= float(np.sqrt(max(misfit / max(turns.size - 1, 1), 1.0)))
    if not strung:
        u_gain = float(np.hypot(u_gain, STAND_IN * gain))
    _check_seen(gain, u_gain, turned)
    values = sum(a * one.values for a, one in zip(share, seen, strict=True))
    weights = np.clip(share * (shared @ share), 0.0, None)
    covariance = sum(w * one.covariance for w, one in zip(weights, seen, strict=True))
    # per mm of relief added: tightening by a turn adds -gain
    unit = values / -gain
    factor = (np.eye(unit.size) - np.outer(unit, np.arange(unit.size) == frets * strings)) / -gain
    shape = factor @ covariance @ factor.T
    tangent = _tangent(instrument)
    past = np.count_nonzero(past_mm(instrument)[:, 0]) >= FEWEST_PAST
    return LearntRod(
        _rod(unit, shape, gain, u_gain, instrument),
        tuple(
            TurnSeen(one.from_turns, one.to_turns, float(change), effect.u_relief_mm)
            for one, change, effect in zip(turned, relief, seen, strict=True)
        ),
        float(values[-1]),
        float(np.sqrt(covariance[-1, -1])),
        float(unit[-2] / tangent) if past else np.nan,
        float(np.sqrt(shape[-2, -2]) / tangent) if past else np.nan,
        agree,
    )


def _shared(turned: Sequence[Turned]) -> FloatArray:
    """Correlation of the turns' movements: half against one another where they share a scan."""
    out = np.eye(len(turned))
    for k, (one, other) in enumerate(pairwise(turned)):
        if one.after is other.before:
            out[k, k + 1] = out[k + 1, k] = -0.5
    return out


def _effect_per_turn(
    turns: FloatArray, relief: FloatArray, seen: Sequence[Effect], shared: FloatArray
) -> tuple[float, float, FloatArray, float]:
    """Relief taken out by one turn, its u, each movement's share in it, and the sum of squares."""
    u = np.array([one.u_relief_mm for one in seen])
    gain = -float(turns @ relief) / float(turns @ turns)
    for _ in range(3):
        variance = shared * np.outer(u, u) + np.diag(np.full(u.size, (gain * U_TURN) ** 2))
        weighted = np.linalg.solve(variance, turns)
        share = weighted / float(turns @ weighted)
        gain = -float(share @ relief)
    off = relief + gain * turns
    misfit = float(off @ np.linalg.solve(variance, off))
    return gain, float(1.0 / np.sqrt(turns @ weighted)), share, misfit


def _check_seen(gain: float, u_gain: float, turned: Sequence[Turned]) -> None:
    if gain > SEEN * u_gain:
        return
    found = f"a turn takes out {gain:.3f} ± {2.0 * u_gain:.3f} mm of relief"
    if gain < -SEEN * u_gain:
        raise ValueError(
            f"{found}: tightening added relief; give turns with tightening positive, or the rod is "
            "one that pushes the other way"
        )
    most = max(abs(one.turns) for one in turned)
    raise ValueError(
        f"{found}, too little to tell from {most:g} turn: the rod is slack there or was not "
        "turned; turn it another quarter if it goes easily, and scan again"
    )


def _tangent(instrument: Instrument) -> float:
    """Slope at the joint of an even bend that is 1 mm deep over the chord, mm/mm."""
    x, _ = tops_mm(instrument)
    nut = instrument.fret_x_mm(0.0, instrument.string_numbers)
    last = x[instrument.body_joint_fret - 1]
    return float(np.mean(4.0 * (last - nut) / (last - x[0]) ** 2))


def _rod(
    unit: FloatArray, shape: FloatArray, gain: float, u_gain: float, instrument: Instrument
) -> Rod:
    """The stated shape; weaker and stronger by 2 u; and bent otherwise by 2 u, the way that is
    known least, which is given all that is unknown of the shape."""
    x, _ = tops_mm(instrument)
    tops = unit[:-3].reshape(x.shape)
    strings = instrument.string_numbers
    saddle = unit[-2] * (instrument.saddle_x_mm(strings) - x[instrument.body_joint_fret - 1])
    stated = RodCase(tops, saddle)
    sizes, ways = np.linalg.eigh(shape[:-3, :-3])
    off = (ways[:, -1] * np.sqrt(np.sum(np.clip(sizes, 0.0, None)))).reshape(x.shape)
    doubt = 2.0 * u_gain / gain
    others = [
        stated,
        *(RodCase(tops * g, saddle * g) for g in (1.0 - doubt, 1.0 + doubt)),
        *(RodCase(tops + way * off, saddle) for way in (-2.0, 2.0)),
    ]
    most = min(MOST_RELIEF_MM / gain, MOST_LEARNT_TURNS)
    return Rod(same_action(others, instrument, x), gain, u_gain, most, learnt=True)
