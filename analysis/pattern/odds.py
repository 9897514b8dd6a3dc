"""What a numbering has for it, in natural logarithms of odds.

Bumps are taken for a point process: strewn at random over the travel, but for those that are
frets, which stand at their places. Odds are against all bumps being strewn. Numbers here are
own choices unless a source is named; a factor of two in any of them is 0.7 of a logarithm, where
one fret more or less is worth five to eight.
"""

from __future__ import annotations

import numpy as np

from analysis.instrument import FloatArray

#: Foreign bumps for each mm: off the fretted part of the neck, and what they are fewer on it.
STREWN_PER_MM = 0.02
FEWER_ON_BOARD = 4.0
#: A fret that is there shows with this chance.
SHOWS = 0.95
#: Against a fret that should be there and is not; against a file with too many frets or too few,
#: which is one mistake whatever their number; for a fret at the nut, which one neck in five has.
MISSING = -float(np.log(1.0 - SHOWS))
WRONG_COUNT = 5.0
ZERO_FRET = float(np.log(0.2))
#: Against a bump among the frets that is none.
FOREIGN = float(np.log(FEWER_ON_BOARD))
#: Frets stand at their places no better than this, mm (own estimate). A spread of twenty frets is
#: itself known to a fifth: below this it must not tell two numberings apart.
LEAST_SPREAD_MM = 0.1

#: A screw's scale, standard; a file that is wrong by some %; by a slip of the pen.
SCREW, RULER, MISTAKE, SLIP = 0.003, 0.04, 6.0, 11.0
#: The nut is by eye, mm, standard; further off than this the file is wrong.
NUT_MM, NUT_SEARCH_MM, NUT_WRONG = 8.0, 16.0, 9.0
#: A fan is the file's to this, standard; a neck laid the wrong way round.
FAN, BACKWARDS = 0.001, 8.0


def seen_gain(spread_mm: float) -> float:
    """For one fret seen, where frets scatter about their places by spread_mm, standard.

    log of the density of a normal law, on average over it, over that of strewn bumps.
    """
    wide = np.sqrt(2.0 * np.pi * np.e) * max(spread_mm, LEAST_SPREAD_MM)
    return float(np.log(SHOWS / (wide * STREWN_PER_MM)))


def prior(
    off_mm: FloatArray | float, scale: FloatArray | float, fan: float = 0.0, turned: bool = False
) -> FloatArray:
    """Before any fret is seen: off_mm from the file's nut, scale and fan against the file's.

    Broadcasts. turned: the neck lies the other way round; its nut may then stand anywhere.
    """
    off = np.abs(np.asarray(off_mm, dtype=float))
    of_nut = np.where(off <= NUT_SEARCH_MM, -0.5 * (off / NUT_MM) ** 2, -NUT_WRONG)
    return np.asarray(_of_scales(scale, fan) + (-BACKWARDS if turned else of_nut))


def _of_scales(scale: FloatArray | float, fan: float) -> FloatArray:
    """Both scale lengths right, or wrong together, or one of them wrong, or each by itself."""
    both = np.log(np.maximum(scale, 1e-3))
    bass, treble = (np.log(np.maximum(scale + share * fan, 1e-3)) for share in (0.5, -0.5))
    right = -0.5 * (np.stack([both, bass, treble]) / SCREW) ** 2
    wrong = -MISTAKE - 0.5 * (np.stack([both, bass, treble]) / RULER) ** 2
    together = np.maximum(right[0], np.maximum(wrong[0], -SLIP)) - 0.5 * (fan / FAN) ** 2
    one = np.maximum(right[1] + wrong[2], right[2] + wrong[1])
    return np.asarray(np.maximum(together, np.maximum(one, wrong[1] + wrong[2])))
