"""What is asked of a plan beside the player's wishes: kept, set by hand, held back, a shape."""

from __future__ import annotations

from collections.abc import Mapping, Set
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray

#: What a plan may be told to leave as it is.
KEEPABLE = ("rod", "nut", "saddles")
#: What else may be asked for, and given up again.
HELD, SHAPE = "held frets", "asked-for shape"


@dataclass(frozen=True, slots=True)
class Held:
    """Frets and strings, counted from 1, under which nothing is cut. places: (fret, string)."""

    frets: frozenset[int] = frozenset()
    strings: frozenset[int] = frozenset()
    places: frozenset[tuple[int, int]] = frozenset()

    def __bool__(self) -> bool:
        return bool(self.frets or self.strings or self.places)

    def where(self, frets: int, strings: int) -> NDArray[np.bool_]:
        """bool[frets, strings]."""
        held = np.zeros((frets, strings), dtype=bool)
        held[[fret - 1 for fret in self.frets], :] = True
        held[:, [string - 1 for string in self.strings]] = True
        for fret, string in self.places:
            held[fret - 1, string - 1] = True
        return held


@dataclass(frozen=True, slots=True)
class AskedShape:
    """A ceiling for the tops under every string between two anchor frets.

    It runs straight from anchor to anchor, `hollow_mm` lower midway (a parabola). off_mm: how far
    above (below: negative) each anchor's top as measured it begins and ends.
    """

    frets: tuple[int, int]
    off_mm: tuple[float, float]
    hollow_mm: float = 0.0

    def height_mm(self, x_mm: FloatArray, top_mm: FloatArray) -> FloatArray:
        """float[frets, strings]: the ceiling for these x and tops; NaN outside the anchors."""
        first, last = self.frets[0] - 1, self.frets[1] - 1
        share = (x_mm - x_mm[first]) / (x_mm[last] - x_mm[first])
        start = top_mm[first] + self.off_mm[0]
        end = top_mm[last] + self.off_mm[1]
        height = start + share * (end - start) - 4.0 * self.hollow_mm * share * (1.0 - share)
        fret = np.arange(x_mm.shape[0])
        between = (fret >= first) & (fret <= last)
        return np.where(between[:, None], height, np.nan)


@dataclass(frozen=True, slots=True)
class Target:
    """keep: any of KEEPABLE, not touched. turns: what the rod is turned by, tightening positive;
    None is free. saddle_mm, nut_mm: string number -> its change, up positive; the others are free.
    """

    keep: frozenset[str] = frozenset()
    turns: float | None = None
    saddle_mm: Mapping[int, float] = field(default_factory=dict)
    nut_mm: Mapping[int, float] = field(default_factory=dict)
    held: Held = Held()
    shape: AskedShape | None = None

    @property
    def fixed(self) -> frozenset[str]:
        """What the plan is not free to choose: kept or set, held back or asked for."""
        found = {
            "rod": self.turns is not None,
            "saddles": bool(self.saddle_mm),
            "nut": bool(self.nut_mm),
            HELD: bool(self.held),
            SHAPE: self.shape is not None,
        }
        return self.keep | {name for name, given in found.items() if given}

    def free(self, names: Set[str]) -> Target:
        """The same with these given up."""
        return replace(
            self,
            keep=self.keep - names,
            turns=None if "rod" in names else self.turns,
            saddle_mm={} if "saddles" in names else self.saddle_mm,
            nut_mm={} if "nut" in names else self.nut_mm,
            held=Held() if HELD in names else self.held,
            shape=None if SHAPE in names else self.shape,
        )

    def keeping(self, name: str) -> Target:
        """The same with one of KEEPABLE left as it is."""
        freed = self.free({name})
        return replace(freed, keep=freed.keep | {name})


#: Nothing kept, nothing set, nothing held back.
ANYTHING = Target()


def within_reach(least_mm: FloatArray, most_mm: FloatArray, step_mm: FloatArray) -> FloatArray:
    """The most of `least_mm` that can be taken, where a file must follow from string to string.

    All [frets, strings], step_mm [frets, strings - 1]: what neighbouring cuts may differ by. Cuts
    between these and `most_mm` that keep to the steps exist for every fret: a cut may be no more
    than the most of any other string and the steps on the way there.
    """
    return np.asarray(np.minimum(least_mm, np.min(most_mm[:, None, :] + _way(step_mm), axis=2)))


def followed(least_mm: FloatArray, step_mm: FloatArray) -> FloatArray:
    """The least cuts that take `least_mm` and keep to the steps; arrays as `within_reach` has."""
    return np.asarray(np.max(least_mm[:, None, :] - _way(step_mm), axis=2))


def _way(step_mm: FloatArray) -> FloatArray:
    """[frets, strings, strings]: the steps from one string to another."""
    start = np.zeros((step_mm.shape[0], 1))
    along = np.concatenate([start, np.cumsum(step_mm, axis=1)], axis=1)
    return np.asarray(np.abs(along[:, :, None] - along[:, None, :]))
