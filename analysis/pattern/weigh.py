"""What speaks for a numbering that has been fitted."""

from __future__ import annotations

import numpy as np

from analysis.instrument import FloatArray
from analysis.pattern import odds
from analysis.pattern.lay import Lay
from analysis.pattern.pairs import covered_by, pairs_of, places_mm


def odds_of(lay: Lay, unknowns: FloatArray, spread_mm: float, widest_mm: float) -> float:
    """Natural logarithm of the odds, against bumps strewn at random; `odds` has the numbers.

    A fret counts by the share of the passes that show it, for what hides it in one lane may hide
    it in the next. A zero fret may be there. The file may have too many frets or too few: that is
    one mistake, whatever their number. spread_mm: of bumps about their places; widest_mm: how far
    off one may stand.
    """
    wide, passes = lay.wide, lay.bumps.passes
    pairs = pairs_of(wide, unknowns, widest_mm)
    seen = np.zeros((passes, wide.frets), dtype=bool)
    seen[pairs.of, pairs.fret] = True
    covered = covered_by(wide, unknowns) | seen
    hits, there = seen.sum(axis=0) / passes, covered.sum(axis=0) / passes
    gain = odds.seen_gain(spread_mm)
    each = hits[1:] * gain - odds.MISSING * (there - hits)[1:]
    # the last fret is wherever the odds are best
    ends = np.concatenate([[0.0], np.cumsum(each)])
    looked_past = np.cumsum(there[lay.frets :: -1])[::-1] - there[: lay.frets + 1]
    ends[: lay.frets + 1] -= np.where(looked_past > 0.0, odds.WRONG_COUNT, 0.0)
    ends[lay.frets + 1 :] -= odds.WRONG_COUNT
    last = int(np.argmax(ends))
    zero = hits[0] * max(gain + odds.ZERO_FRET, 0.0)
    foreign = _among(lay, unknowns, max(last, lay.frets)) - float(hits[1 : last + 1].sum())
    nut, scale, _, fan = unknowns.tolist()
    off = nut - lay.instrument.nut_at_mm
    before = odds.prior(off, scale, fan, lay.backwards)
    return float(ends[last] + zero - odds.FOREIGN * max(foreign, 0.0) + before)


def _among(lay: Lay, unknowns: FloatArray, last: int) -> float:
    """Bumps a pass from a little before fret 1 to a little past the last one."""
    places, b = places_mm(lay.wide, unknowns), lay.bumps
    low = places[:, 1] - 0.5 * (places[:, 2] - places[:, 1])
    high = places[:, last] + 0.3 * (places[:, last] - places[:, last - 1])
    return float(np.count_nonzero((b.x_mm > low[b.of]) & (b.x_mm < high[b.of]))) / b.passes
