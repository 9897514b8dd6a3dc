"""What one turn does, from several turns that each saw it: a line through nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.stats import chi2

from analysis.instrument import FloatArray
from analysis.rod.turned import Effect, Turned

#: A turn by hand is judged to 10 degrees either way (own estimate), anywhere between alike
#: (JCGM 100, 4.3.7).
U_TURN = 10.0 / 360.0 / 3.0**0.5
#: The strings press the neck along itself, and a pressed beam bends more: by the secant formula
#: of an eccentric pull, 4 % more on a neck of 378 N m2 and 450 mm under 700 N. So much an
#: unstrung neck may tell wrong of a strung one.
STAND_IN = 0.04
#: Less than so many deviations from nothing is not learnt.
SEEN = 3.0


@dataclass(frozen=True, slots=True)
class Gain:
    """mm_per_turn: relief that one turn of tightening takes out.

    share: float[turns], of each turn's movement in the movement of a whole turn; weight: of its
    covariance. agree: the chance that turns of one effect differ as these do; None for one turn.
    """

    mm_per_turn: float
    u_mm_per_turn: float
    share: FloatArray
    weight: FloatArray
    agree: float | None


def fit_gain(
    turned: Sequence[Turned], seen: Sequence[Effect], relief_mm: FloatArray, strung: bool
) -> Gain:
    """Weighted least squares over the turns, relief = -gain turns.

    relief_mm: float[turns], what each turn added. Each has the scans' u and the hand's, and
    neighbouring turns share a scan, whose error is in both with opposite signs. Turns that
    scatter wider widen u (Birge's ratio). Raises ValueError where tightening shows no effect.
    """
    turns = np.array([one.turns for one in turned])
    u = np.array([one.u_relief_mm for one in seen])
    shared = _shared(turned)
    gain = -float(turns @ relief_mm) / float(turns @ turns)
    # the hand's part needs the gain itself: it settles at once
    for _ in range(3):
        variance = shared * np.outer(u, u) + np.diag(np.full(u.size, (gain * U_TURN) ** 2))
        weighted = np.linalg.solve(variance, turns)
        share = weighted / float(turns @ weighted)
        gain = -float(share @ relief_mm)
    off = relief_mm + gain * turns
    misfit, free = float(off @ np.linalg.solve(variance, off)), turns.size - 1
    u_gain = float(np.sqrt(max(misfit / max(free, 1), 1.0) / (turns @ weighted)))
    if not strung:
        u_gain = float(np.hypot(u_gain, STAND_IN * gain))
    _check_seen(gain, u_gain, turns)
    agree = float(chi2.sf(misfit, free)) if free else None
    return Gain(gain, u_gain, share, np.clip(share * (shared @ share), 0.0, None), agree)


def _shared(turned: Sequence[Turned]) -> FloatArray:
    """Correlation of the turns' movements: half against one another where they share a scan."""
    out = np.eye(len(turned))
    for k, (one, other) in enumerate(pairwise(turned)):
        if one.after is other.before:
            out[k, k + 1] = out[k + 1, k] = -0.5
    return out


def _check_seen(gain: float, u_gain: float, turns: FloatArray) -> None:
    if gain > SEEN * u_gain:
        return
    found = f"a turn takes out {gain:.3f} ± {2.0 * u_gain:.3f} mm of relief"
    if gain < -SEEN * u_gain:
        raise ValueError(
            f"{found}, so tightening added relief: give turns with tightening positive, or plan "
            "with --keep rod, for this rod pushes the other way"
        )
    most = float(np.max(np.abs(turns)))
    raise ValueError(
        f"{found}, which {most:g} turn is too little to tell: the rod is slack there or was not "
        "turned; turn it another quarter if it goes easily, and scan again"
    )
