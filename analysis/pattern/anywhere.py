"""For a scan the file cannot explain: all that a person can have got wrong, tried."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from analysis.pattern import odds
from analysis.pattern.lay import Lay, mirrored, turned
from analysis.pattern.numbering import FILE_SCALES, Numbering, ranked
from analysis.pattern.vote import ALIKE_MM, Guess, Search, vote

#: Any scale at all, for a slip of the pen: 2.5 times too short to 2.5 times too long.
ANY_SCALE = np.exp(np.arange(-np.log(2.5), np.log(2.5), 0.002))
#: A fan is wrong by up to so much.
FANS = np.arange(-0.12, 0.12 + 1e-9, 0.005)
#: A nut, where the file is wrong, stands within so much of it, mm.
FAR_MM = 150.0
#: So many of the likeliest are looked at closely.
MOST = 20


def anywhere(lay: Lay) -> list[Numbering]:
    """Numberings with another fan than the file's, any scale, the nut somewhere else, or the neck
    the other way round; best first. Takes some tenths of a second."""
    tried = [
        (one, guess) for one, search, most in _searches(lay) for guess in vote(one, search, most)
    ]
    return ranked(_likeliest(tried))


def _searches(lay: Lay) -> Iterator[tuple[Lay, Search, int]]:
    """(lay, search, how many to keep of it)."""
    about = lay.instrument.nut_at_mm
    for fan in FANS:
        yield lay, Search(about, FILE_SCALES, float(fan)), 1
    yield lay, Search(about, ANY_SCALE), 4
    for nut in _along(about - FAR_MM, about + FAR_MM):
        yield lay, Search(nut, FILE_SCALES), 1
    bumps = mirrored(lay.bumps)
    low = float(bumps.went_mm.min() - lay.pattern_mm.max())
    for nut in _along(low, float(bumps.went_mm.max())):
        yield turned(lay, bumps, nut), Search(nut, FILE_SCALES), 1


def _along(low_mm: float, high_mm: float) -> list[float]:
    """Nuts to search about, so that all between are within reach."""
    return [float(nut) for nut in np.arange(low_mm, high_mm, 2.0 * odds.NUT_SEARCH_MM)]


def _likeliest(tried: list[tuple[Lay, Guess]]) -> list[tuple[Lay, Guess]]:
    """The best of what puts the frets in different places."""
    kept: list[tuple[Lay, Guess]] = []
    for lay, guess in sorted(tried, key=lambda one: -one[1].odds):
        ends = guess.ends_mm(lay)
        alike = (
            np.all(np.abs(ends - other.ends_mm(its)) < ALIKE_MM)
            for its, other in kept
            if its.backwards == lay.backwards
        )
        if not any(alike):
            kept.append((lay, guess))
        if len(kept) == MOST:
            break
    return kept
