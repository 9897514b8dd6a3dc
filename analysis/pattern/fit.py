"""A numbering fitted: offset, scale, skew and fan by least squares over the bumps it explains."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from analysis.pattern.lay import Lay
from analysis.pattern.pairs import Pairs, covered_by, pairs_of
from analysis.pattern.vote import MATCH_MM, Guess
from analysis.pattern.weigh import odds_of

#: Lanes further apart than this across tell skew and fan.
APART_MM = 5.0
#: Fewer frets than this are no pattern.
LEAST_FRETS = 6
#: Bumps further off their places than so many robust deviations, and than this, are others'.
SIGMAS, NARROW_MM = 5.0, 0.3
#: Slopes of neck and rail move all summits alike: 2 mm of radius by 2 mrad at either end (own
#: estimate).
LEAN_MM = 0.004
#: From rough to fine: how far from its place a bump may stand at each turn, mm.
_TURNS_MM = (MATCH_MM, MATCH_MM, 0.8, 0.5)
#: The last of them again until no bump comes or goes, but not for ever.
_MOST_TURNS = 12


@dataclass(frozen=True, slots=True)
class Fit:
    """unknowns: nut, scale, skew, fan; covariance: [4, 4], 0 for what was held.

    seen, covered: bool[passes, frets]. tells: whether the lanes tell skew and fan. spread_mm: of
    bumps about their places, robust. odds: logarithm, against bumps strewn at random.
    """

    unknowns: FloatArray
    covariance: FloatArray
    seen: NDArray[np.bool_]
    covered: NDArray[np.bool_]
    tells: bool
    spread_mm: float
    odds: float

    @property
    def u(self) -> FloatArray:
        return np.asarray(np.sqrt(np.diag(self.covariance)))

    @property
    def frets_seen(self) -> int:
        """Frets seen by at least half the passes that went there."""
        seen, covered = self.seen.sum(axis=0), self.covered.sum(axis=0)
        return int(np.count_nonzero((2 * seen >= covered) & (seen > 0)))

    @property
    def found(self) -> float:
        """Share of what is covered that was seen."""
        return float(self.seen.sum() / max(self.covered.sum(), 1))


def fit(lay: Lay, guess: Guess, fan_free: bool = True) -> Fit | None:
    """Least squares over the bumps near their places, again and again, nearer every time.

    carriage = nut + scale x + skew lever + fan c (x - x_square). Skew, and fan where fan_free, only
    where the lanes tell. None where fewer than LEAST_FRETS frets have a bump, or they run the
    wrong way.
    """
    unknowns = np.array([guess.nut_mm, guess.scale, 0.0, guess.fan])
    tells = lay.lanes_apart_mm >= APART_MM
    widest, before = MATCH_MM, -1
    for turn in range(_MOST_TURNS):
        widest = min(_TURNS_MM[min(turn, len(_TURNS_MM) - 1)], widest)
        pairs = pairs_of(lay, unknowns, widest)
        if np.unique(pairs.fret).size < LEAST_FRETS:
            return None
        free = [0, 1] if turn == 0 or not tells else [0, 1, 2, 3] if fan_free else [0, 1, 2]
        unknowns, off = _solved(lay, pairs, unknowns, free)
        if unknowns[1] <= 0.0:
            return None
        spread = 1.4826 * float(np.median(np.abs(off)))
        if turn >= len(_TURNS_MM) - 1 and pairs.of.size == before:
            break
        before = pairs.of.size
        widest = max(NARROW_MM, SIGMAS * spread)
    covered = covered_by(lay, unknowns)
    seen = np.zeros_like(covered)
    seen[pairs.of, pairs.fret] = True
    return Fit(
        unknowns, _covariance(lay, pairs, off, free), seen, covered | seen, tells, spread,
        odds_of(lay, unknowns, spread, widest),
    )  # fmt: skip


def _design(lay: Lay, pairs: Pairs) -> FloatArray:
    x = lay.pattern_mm[pairs.of, pairs.fret]
    leaning = lay.across[pairs.of, pairs.fret] * (x - lay.square_mm)
    return np.column_stack([np.ones_like(x), x, pairs.lever_mm, leaning])


def _solved(
    lay: Lay, pairs: Pairs, unknowns: FloatArray, free: list[int]
) -> tuple[FloatArray, FloatArray]:
    """(unknowns, what is left of each pair) with the others held."""
    design = _design(lay, pairs)
    rest = pairs.x_mm - design @ unknowns
    change = np.linalg.lstsq(design[:, free], rest, rcond=None)[0]
    out = unknowns.copy()
    out[free] += change
    return out, rest - design[:, free] @ change


def _covariance(lay: Lay, pairs: Pairs, off: FloatArray, free: list[int]) -> FloatArray:
    """Of the unknowns, where all bumps of one fret are out of place together.

    Frets are the independent things, not their crossings by the lanes: the sandwich of Liang and
    Zeger (Biometrika 73, 1986), clustered by fret, with their number less the unknowns.
    """
    design = _design(lay, pairs)[:, free]
    inverse = np.linalg.pinv(design.T @ design, hermitian=True)
    pulls = np.zeros((lay.frets, len(free)))
    np.add.at(pulls, pairs.fret, design * off[:, None])
    frets = np.unique(pairs.fret).size
    out = np.zeros((4, 4))
    grown = frets / max(frets - 2, 1)
    out[np.ix_(free, free)] = grown * inverse @ pulls.T @ pulls @ inverse
    length = max(float(np.ptp(design[:, 1])), 1.0)
    return np.asarray(out + np.diag([LEAN_MM, 2.0 * LEAN_MM / length, 0.0, 0.0]) ** 2)
