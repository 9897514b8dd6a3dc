"""How common flats of each width are, learnt from the crowns that a scan shows."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analysis.crowns.grid import FLATS_MM
from analysis.instrument import FloatArray

#: Chance, before any crown was seen, that one is whole; the rest is spread evenly over the flats.
WHOLE = 0.7
#: How many crowns that is worth against those seen, and those seen anywhere against those nearby
#: (own choice).
WORTH = 3.0
#: Widths come in classes this far apart, mm, each fading into the next; a file or a string does
#: not repeat itself closer (own estimate).
CLASS_MM = 0.03
#: Wear is alike over about so many frets and strings: hands stay in positions (own estimate).
NEAR_FRETS, NEAR_STRINGS = 3.0, 3.0
ROUNDS, NEAR_ROUNDS = 40, 8


def _classes() -> FloatArray:
    """float[flats, classes]: how each class spreads over the grid; the whole crowns, then hats."""
    knots = np.arange(CLASS_MM, FLATS_MM[-1] + CLASS_MM, CLASS_MM)
    hats = np.clip(1.0 - np.abs(FLATS_MM[:, None] - knots) / CLASS_MM, 0.0, None)
    hats *= np.gradient(FLATS_MM)[:, None]
    hats[0] = 0.0
    whole = (FLATS_MM == 0.0).astype(float)[:, None]
    return np.asarray(np.hstack([whole, hats / hats.sum(axis=0)]))


_CLASSES = _classes()


def _before_looking() -> FloatArray:
    rest = _CLASSES.shape[1] - 1
    return np.concatenate([[WHOLE], np.full(rest, (1.0 - WHOLE) / rest)])


def nearness(fret: NDArray[np.intp], string: FloatArray) -> FloatArray:
    """float[crowns, crowns]: how much the wear of one crown says of another's, 1 for itself.

    Strings wear what lies under them: crowns under strings and crowns between strings say
    nothing of one another.
    """
    off = ((fret[:, None] - fret) / NEAR_FRETS) ** 2 + (
        (string[:, None] - string) / NEAR_STRINGS
    ) ** 2
    under = string % 1.0 == 0.0
    return np.asarray(np.exp(-0.5 * off) * (under[:, None] == under))


def commonness(likelihood: FloatArray, near: FloatArray) -> FloatArray:
    """float[flats, crowns]: how common each flat is about each crown, learnt from the others.

    Nonparametric maximum likelihood of the mixing distribution by EM (Laird 1978) over classes
    of widths, first over all crowns, with what was thought before worth WORTH crowns; then about
    each crown, weighed by nearness, the whole scan worth WORTH crowns. So a scan whose crowns
    are all whole, or all worn alike, learns it; one of a few crowns stays near what was thought.

    likelihood: float[flats, crowns], each crown's own scale is free. near: float[crowns, crowns].
    """
    of_class = _CLASSES.T @ likelihood
    first = _before_looking()
    chance = first
    for _ in range(ROUNDS):
        seen = chance * (of_class @ (1.0 / (chance @ of_class)))
        chance = (WORTH * first + seen) / (WORTH + likelihood.shape[1])
    about = np.broadcast_to(chance[:, None], of_class.shape)
    total = WORTH + near.sum(axis=0)
    for _ in range(NEAR_ROUNDS):
        seen = about * of_class
        seen = seen / seen.sum(axis=0)
        about = (WORTH * chance[:, None] + seen @ near) / total
    return np.asarray(_CLASSES @ about)
