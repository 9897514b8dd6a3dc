"""Which numbering of the crowns is the likeliest, and how much likelier than the next."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from analysis.pattern.fit import Fit, fit
from analysis.pattern.lay import Lay
from analysis.pattern.pairs import places_mm
from analysis.pattern.vote import Guess, Search, vote

#: A numbering with less for it than this is none: 20000 to 1, for thousands are tried (own
#: choice).
CONVINCES = 10.0
#: Frets seen of those covered, up to the last seen (own choice).
LEAST_SHARE = 0.5
#: A file's scale is wrong by up to so much.
FILE_SCALES = 1.0 + np.arange(-0.08, 0.08 + 1e-9, 0.002)
#: So many of the likeliest are looked at closely, but for those that the vote puts so far behind
#: the first: a vote is wrong by a fret or two of its eight.
MOST_NEAR, HOPELESS = 4, 20.0
#: Two numberings that put the frets nearer than this to one another, mm, are one.
SAME_MM = 1.5


@dataclass(frozen=True, slots=True)
class Numbering:
    """A fit, and the way the neck lies in it."""

    lay: Lay
    fit: Fit

    @property
    def convinces(self) -> bool:
        seen, covered = self.fit.seen, self.fit.covered
        last = int(np.max(np.flatnonzero(seen.any(axis=0)), initial=-1)) + 1
        share = seen[:, :last].sum() / max(covered[:, :last].sum(), 1)
        return bool(self.fit.odds > CONVINCES and share > LEAST_SHARE)

    @property
    def off_mm(self) -> float:
        """The nut, from where the file has it."""
        return float(self.fit.unknowns[0]) - self.lay.instrument.nut_at_mm

    def is_same(self, other: Numbering) -> bool:
        """Whether the other gives the same crowns the same numbers."""
        if self.lay.backwards != other.lay.backwards:
            return False
        seen = self.fit.seen & other.fit.seen
        apart = places_mm(self.lay, self.fit.unknowns) - places_mm(other.lay, other.fit.unknowns)
        return bool(seen.any() and np.median(np.abs(apart[seen])) < SAME_MM)


def near(lay: Lay) -> list[Numbering]:
    """Numberings with the nut near the file's place and the scale near the file's, best first."""
    guesses = vote(lay, Search(lay.instrument.nut_at_mm, FILE_SCALES), MOST_NEAR)
    least = guesses[0].odds - HOPELESS if guesses else 0.0
    return ranked((lay, guess) for guess in guesses if guess.odds > least)


def ranked(guesses: Iterable[tuple[Lay, Guess]]) -> list[Numbering]:
    """Fitted, best first, each numbering once."""
    fits = ((lay, fit(lay, guess)) for lay, guess in guesses)
    found = [Numbering(lay, one) for lay, one in fits if one is not None]
    kept: list[Numbering] = []
    for one in sorted(found, key=lambda n: -n.fit.odds):
        if not any(one.is_same(other) for other in kept):
            kept.append(one)
    return kept
