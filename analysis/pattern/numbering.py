"""Which numbering of the crowns is the likeliest, and how much likelier than the next."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from analysis.pattern import odds
from analysis.pattern.fit import Fit, fit, places_mm
from analysis.pattern.lay import Lay, mirrored, turned
from analysis.pattern.vote import Search, vote

#: A numbering with less for it than this is none: 20000 to 1, for thousands are tried (own
#: choice).
CONVINCES = 10.0
#: Frets seen of those covered, up to the last seen (own choice).
LEAST_SHARE = 0.5
#: A file's scale is wrong by up to so much, or by a slip of the pen.
FILE_SEARCH, SLIP_SEARCH = 0.08, 2.5
#: A fan is wrong by up to so much.
FAN_SEARCH = 0.12
#: A nut, where the file is wrong, stands within so much of it, mm.
FAR_MM = 150.0
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
    return _ranked(_fits(lay, Search(lay.instrument.nut_at_mm, _scales(FILE_SEARCH)), 4))


def anywhere(lay: Lay) -> list[Numbering]:
    """As `near`, and all a person can have got wrong: for a scan that `near` cannot explain."""
    return _ranked(one for search in (_fanned, _slips, _far, _turned) for one in search(lay))


def _fanned(lay: Lay) -> Iterator[Numbering]:
    """Another fan than the file's."""
    for fan in np.arange(-FAN_SEARCH, FAN_SEARCH + 1e-9, 0.005):
        search = Search(lay.instrument.nut_at_mm, _scales(FILE_SEARCH), float(fan))
        yield from _fits(lay, search, 1)


def _slips(lay: Lay) -> Iterator[Numbering]:
    """Any scale at all."""
    wide = np.log(SLIP_SEARCH)
    search = Search(lay.instrument.nut_at_mm, np.exp(np.arange(-wide, wide, 0.002)))
    yield from _fits(lay, search, 4)


def _far(lay: Lay) -> Iterator[Numbering]:
    """The nut somewhere else."""
    about = lay.instrument.nut_at_mm
    for nut in _along(about - FAR_MM, about + FAR_MM):
        yield from _fits(lay, Search(nut, _scales(FILE_SEARCH)), 1)


def _turned(lay: Lay) -> Iterator[Numbering]:
    """The neck the other way round, anywhere on the rig."""
    bumps = mirrored(lay.bumps)
    low = float(bumps.went_mm.min() - lay.pattern_mm.max())
    for nut in _along(low, float(bumps.went_mm.max())):
        yield from _fits(turned(lay, bumps, nut), Search(nut, _scales(FILE_SEARCH)), 1)


def _along(low_mm: float, high_mm: float) -> list[float]:
    """Nuts to search about, so that all between are within reach."""
    return [float(nut) for nut in np.arange(low_mm, high_mm, 2.0 * odds.NUT_SEARCH_MM)]


def _scales(wide: float) -> np.ndarray:
    return 1.0 + np.arange(-wide, wide + 1e-9, 0.002)


def _fits(lay: Lay, search: Search, most: int) -> Iterator[Numbering]:
    for guess in vote(lay, search, most):
        found = fit(lay, guess)
        if found is not None:
            yield Numbering(lay, found)


def _ranked(numberings: Iterable[Numbering]) -> list[Numbering]:
    """Best first, each numbering once."""
    kept: list[Numbering] = []
    for one in sorted(numberings, key=lambda n: -n.fit.odds):
        if not any(one.is_same(other) for other in kept):
            kept.append(one)
    return kept
