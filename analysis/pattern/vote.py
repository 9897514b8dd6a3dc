"""Every offset and scale tried at once, roughly: which numberings are worth a closer look."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from analysis.pattern import odds
from analysis.pattern.lay import Lay
from analysis.pattern.registration import share_across

Index = NDArray[np.intp]

#: A bump this near its place may be that fret: a turned neck, a rough grid, a frets' own error.
MATCH_MM = 1.5
_GRID_MM = 0.5
#: Numberings closer than this at both ends are one.
ALIKE_MM = 3.0


@dataclass(frozen=True, slots=True)
class Guess:
    """A nut's place, scale and fan, before any of them is fitted, and roughly their odds."""

    nut_mm: float
    scale: float
    fan: float
    odds: float = 0.0

    def ends_mm(self, lay: Lay) -> FloatArray:
        """Where the first and the last fret would cross the centre line."""
        x = np.mean(lay.pattern_mm[:, [0, -1]], axis=0)
        return np.asarray(self.nut_mm + self.scale * x)


@dataclass(frozen=True, slots=True)
class Search:
    """What to try: nuts as far as reach_mm from nut_mm on the carriage; scales; one fan."""

    nut_mm: float
    scales: FloatArray
    fan: float = 0.0
    reach_mm: float = odds.NUT_SEARCH_MM


def vote(lay: Lay, search: Search, most: int) -> list[Guess]:
    """The likeliest numberings of a search, at most so many, best first.

    All lanes are pooled over the centre line, so that each hypothesis costs one look-up a fret.
    """
    steps = np.arange(round(2.0 * search.reach_mm / _GRID_MM) + 1)
    off = _GRID_MM * steps - search.reach_mm
    pool = _pool(lay, search)
    middle = 0.5 * (lay.instrument.scale_bass_mm + lay.instrument.scale_treble_mm)
    # a little before fret 1 to a little past the last: bumps there should be frets
    frets = np.concatenate([[0.5], np.arange(1, lay.frets + 1), [lay.frets + 0.3]])
    x = middle * (1.0 - 2.0 ** (-frets / 12.0))
    # nut and square fret stay where they are for any scale: the nut is what moves
    cell = np.rint((search.scales[:, None] * x + off[0] - pool.from_mm) / _GRID_MM).astype(np.intp)
    at = np.clip(cell[:, :, None] + steps, 0, pool.gain.size - 1)
    score = np.sum(np.take(pool.gain, at[:, 1:-1]), axis=1)
    score -= odds.FOREIGN * (pool.before[at[:, -1]] - pool.before[at[:, 0]])
    away = search.nut_mm - lay.instrument.nut_at_mm + off
    score += odds.prior(away[None, :], search.scales[:, None], search.fan, lay.backwards)
    first = search.scales[:, None] * x[1] + off
    last = search.scales[:, None] * x[-2] + off
    guesses = []
    for _ in range(most):
        s, k = np.unravel_index(np.argmax(score), score.shape)
        if not np.isfinite(score[s, k]):
            break
        nut, scale = search.nut_mm + float(off[k]), float(search.scales[s])
        guesses.append(Guess(nut, scale, search.fan, float(score[s, k])))
        alike = np.abs(first - first[s, k]) < ALIKE_MM
        score[alike & (np.abs(last - last[s, k]) < ALIKE_MM)] = -np.inf
    return guesses


@dataclass(frozen=True, slots=True)
class _Pool:
    """Over the centre line, from the nut that is searched about: float[cells].

    gain: what a fret with its place there would be worth; before: bumps a pass up to there.
    """

    from_mm: float
    gain: FloatArray
    before: FloatArray


def _pool(lay: Lay, search: Search) -> _Pool:
    b = lay.bumps
    bump = _to_middle(lay, search, b.x_mm, b.of)
    each = np.arange(b.passes)
    went = np.stack([_to_middle(lay, search, b.went_mm[:, k], each) for k in (0, 1)], axis=1)
    low = float(went.min()) - 2.0 * MATCH_MM
    size = int((float(went.max()) - low) / _GRID_MM) + 8
    share = 1.0 / b.passes

    def cell(x: FloatArray) -> Index:
        return np.asarray(np.rint((x - low) / _GRID_MM), dtype=np.intp)

    bumps = share * np.bincount(cell(bump), minlength=size)
    reach = round(MATCH_MM / _GRID_MM)
    near = np.convolve(bumps, 1.0 - np.abs(np.arange(1 - reach, reach)) / reach, mode="same")
    began = np.bincount(cell(went[:, 0] + MATCH_MM), minlength=size)
    ended = np.bincount(cell(np.maximum(went[:, 1] - MATCH_MM, went[:, 0])), minlength=size)
    covered = share * np.cumsum(began - ended)
    seen = np.minimum(near, covered)
    gain = seen * (odds.seen_gain(0.3) + odds.FOREIGN) - odds.MISSING * (covered - seen)
    gain[[0, -1]] = 0.0
    return _Pool(low, gain, np.cumsum(bumps))


def _to_middle(lay: Lay, search: Search, carriage_mm: FloatArray, of: Index) -> FloatArray:
    """Where the same fret crosses the centre line, from the nut that is searched about."""
    instrument = lay.instrument
    middle = 0.5 * (instrument.scale_bass_mm + instrument.scale_treble_mm)
    string = lay.string_at(of, carriage_mm - search.nut_mm)
    own = instrument.scale_mm(string) * (1.0 + search.fan * share_across(instrument, string))
    square = search.nut_mm + lay.square_mm
    return np.asarray(lay.square_mm + (carriage_mm - square) * (middle / own))
