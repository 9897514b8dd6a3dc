"""What one turn does, from several turns that each saw it: a line through nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc

from analysis.instrument import FloatArray
from analysis.rod.turned import Effect, Turned

#: A turn by hand is judged to 10 degrees either way (own estimate), anywhere between alike
#: (JCGM 100, 4.3.7).
U_TURN = 10.0 / 360.0 / 3.0**0.5
#: The strings press the neck along itself, and a pressed beam bends more: by the secant formula
#: of an eccentric pull, 4 % more on a neck of 378 N m2 and 450 mm under 700 N. So much an
#: unstrung neck may tell wrong of a strung one.
STAND_IN = 0.04
#: Less than so many deviations from nothing is not learnt, nor a tenth of a usual rod's effect:
#: no rod that grips does so little (own choice).
SEEN, LEAST_MM_PER_TURN = 3.0, 0.04
#: Turns that agree worse than one time in a hundred by chance are not of one effect.
UNLIKELY = 0.01
#: A loosest turn that does less than this share of the others' effect was slack (own choice).
SLACK = 0.5


@dataclass(frozen=True, slots=True)
class Gain:
    """mm_per_turn: relief that one turn of tightening takes out.

    share: float[turns], of each turn's movement in the movement of a whole turn; weight: of its
    covariance. agree: the chance that turns of one effect differ as these do; None for one turn.
    slack: so many of the loosest turns did next to nothing, and have no part in it.
    """

    mm_per_turn: float
    u_mm_per_turn: float
    share: FloatArray
    weight: FloatArray
    agree: float | None
    slack: int = 0


def fit_gain(
    turned: Sequence[Turned], seen: Sequence[Effect], relief_mm: FloatArray, strung: bool
) -> Gain:
    """Weighted least squares over the turns, relief = -gain turns.

    relief_mm: float[turns], what each turn added. Each has the scans' u and the hand's, and
    neighbouring turns share a scan, whose error is in both with opposite signs. Where they do
    not agree and the loosest did next to nothing, it was slack, and the rod is what the others
    show; turns that scatter wider for another reason widen u (Birge's ratio). Raises ValueError
    where tightening shows no effect.
    """
    turns = np.array([one.turns for one in turned])
    u = np.array([one.u_relief_mm for one in seen])
    loosest_first = np.argsort([min(one.from_turns, one.to_turns) for one in turned])
    used = np.arange(turns.size)
    found = _least_squares(turns, relief_mm, u, _shared(turned), used)
    for slack, loosest in enumerate(loosest_first[:-1], start=1):
        does = -relief_mm[loosest] / turns[loosest]
        if found.agree is None or found.agree >= UNLIKELY:
            break
        rest = used[used != loosest]
        others = _least_squares(turns, relief_mm, u, _shared(turned), rest)
        if does >= SLACK * others.mm_per_turn:
            break
        found, used = replace(others, slack=slack), rest
    if not strung:
        u_gain = float(np.hypot(found.u_mm_per_turn, STAND_IN * found.mm_per_turn))
        found = replace(found, u_mm_per_turn=u_gain)
    _check_seen(found, turns)
    return found


def _least_squares(
    turns: FloatArray,
    relief_mm: FloatArray,
    u_mm: FloatArray,
    shared: FloatArray,
    used: NDArray[np.intp],
) -> Gain:
    """By the turns used alone; the others' share is nothing."""
    t, z, u = turns[used], relief_mm[used], u_mm[used]
    own = shared[np.ix_(used, used)]
    gain = -float(t @ z) / float(t @ t)
    # the hand's part needs the gain itself: it settles at once
    for _ in range(3):
        variance = own * np.outer(u, u) + np.diag(np.full(u.size, (gain * U_TURN) ** 2))
        weighted = np.linalg.solve(variance, t)
        gain = -float(weighted @ z) / float(t @ weighted)
    off = z + gain * t
    misfit, free = float(off @ np.linalg.solve(variance, off)), t.size - 1
    u_gain = float(np.sqrt(max(misfit / max(free, 1), 1.0) / (t @ weighted)))
    share = np.zeros_like(turns)
    share[used] = weighted / float(t @ weighted)
    weight = np.clip(share * (shared @ share), 0.0, None)
    return Gain(gain, u_gain, share, weight, float(chdtrc(free, misfit)) if free else None)


def _shared(turned: Sequence[Turned]) -> FloatArray:
    """Correlation of the turns' movements: half against one another where they share a scan."""
    out = np.eye(len(turned))
    for k, (one, other) in enumerate(pairwise(turned)):
        if one.after is other.before:
            out[k, k + 1] = out[k + 1, k] = -0.5
    return out


def _check_seen(found: Gain, turns: FloatArray) -> None:
    gain, u = found.mm_per_turn, found.u_mm_per_turn
    if gain > max(SEEN * u, LEAST_MM_PER_TURN):
        return
    said = f"a turn takes out {gain:.3f} ± {2.0 * u:.3f} mm of relief"
    if gain < -SEEN * u:
        raise ValueError(
            f"{said}, so tightening added relief: give turns with tightening positive, or plan "
            "with --keep rod, for this rod pushes the other way"
        )
    if found.agree is not None and found.agree < UNLIKELY:
        raise ValueError(
            f"{said}, for its turns do not agree: the rod sticks and jumps, or was turned "
            "otherwise than said; go by the relief you measure"
        )
    most = float(np.max(np.abs(turns)))
    raise ValueError(
        f"{said}, too little to learn from by {most:g} turn: the rod is slack there or was not "
        "turned; turn it another quarter if it goes easily, and scan again"
    )
