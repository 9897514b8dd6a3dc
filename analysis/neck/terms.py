"""What an uncertainty is made of: independent terms that are carried along with it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray


@dataclass(frozen=True, slots=True)
class Terms:
    """Standard uncertainties by name, all of one shape and unit; `u_mm` is what they make.

    noise: of the readings under a crown. drift: of the passes' drift lines. crown: not knowing
    the crown's flat. tip: whether it climbs on the slope across; signed, for the one factor moves
    the outer strings up and the middle ones down. spot: what a light spot takes off a crown.
    rail: of its error map. sensor: of its curve. place: of the nut's place along
    the rail, where the strings' fan has it change the place across. ways: passes both ways that
    disagree. unseen: wear under a string that no lane passed over. movement: of the field from
    one state to the other. laid: of laying two scans of one state over one another. Of repeated
    scans: repeat, what they scatter beyond noise, drift and crown; clamping, how far the bends
    scatter that clamping puts in; scans, two that disagree about a top.
    """

    parts: Mapping[str, FloatArray]

    @property
    def u_mm(self) -> FloatArray:
        """Root of the sum of squares."""
        return np.asarray(np.sqrt(sum(np.square(part) for part in self.parts.values())))

    def also(self, **more: FloatArray) -> Terms:
        """With further terms; one that is there already grows."""
        parts = dict(self.parts)
        for name, part in more.items():
            parts[name] = np.hypot(parts[name], part) if name in parts else part
        return Terms(parts)

    def without(self, *names: str) -> Terms:
        """Less some of its terms; one it has not is no fault."""
        return Terms({name: part for name, part in self.parts.items() if name not in names})

    def each(self, of: Callable[[FloatArray], FloatArray]) -> Terms:
        """The same done to every term, as taking a column is."""
        return Terms({name: of(part) for name, part in self.parts.items()})


def stacked(columns: list[Terms]) -> Terms:
    """[frets] each to [frets, columns]; a term that one of them lacks is 0 there."""
    names = dict.fromkeys(name for column in columns for name in column.parts)
    nothing = np.zeros_like(columns[0].u_mm)
    return Terms(
        {
            name: np.stack([column.parts.get(name, nothing) for column in columns], axis=-1)
            for name in names
        }
    )
