"""A neck made ready for planning: what does not change while the controls are moved."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.limits import Limits, limits_for
from analysis.plan.margins import Margins, margins
from analysis.plan.programme import Programme, Solution
from analysis.plan.rows import Rows, rows_of
from analysis.plan.setup import Setup, bridged, setup_from
from analysis.plan.target import ANYTHING, Target
from analysis.rod.rod import Rod
from analysis.strings.playing import PlayingProfile
from analysis.strings.strings import StringLoad, string_loads

#: Where more of the tops than this was not seen there is no plan.
MOST_UNSEEN = 0.1


@dataclass(frozen=True, slots=True)
class Planner:
    """One neck, one rod, one width of bends.

    setup: with tops that nobody saw bridged from their neighbours; no margin hangs on those.
    seen: the same with those tops left unknown.
    margins: with the needs and uncertainties of the playing it was made for.
    """

    shape: Shape
    setup: Setup
    seen: Setup
    loads: tuple[StringLoad, ...]
    rod: Rod
    margins: Margins
    rows: Rows
    programme: Programme

    def limits(self, playing: PlayingProfile, target: Target) -> Limits:
        return limits_for(self.setup, self.shape, playing, target, self.rod)

    def played(self, playing: PlayingProfile) -> Margins:
        """The margins with what this player needs."""
        return self.margins.played(self.loads, playing)

    def solve(self, playing: PlayingProfile, limits: Limits) -> Solution:
        """For a player who bends no wider than the one it was made for."""
        return self.programme.solve(self.played(playing), limits)


def planner_for(shape: Shape, instrument: Instrument, playing: PlayingProfile, rod: Rod) -> Planner:
    """shape: the strung tops. Margins that hang on a top nobody saw are left out.

    Raises ValueError where more than a tenth of the tops was not seen.
    """
    unseen = int(np.count_nonzero(~np.isfinite(shape.top_mm)))
    if unseen > MOST_UNSEEN * shape.top_mm.size:
        raise ValueError(
            f"{unseen} of {shape.top_mm.size} fret tops are not known; a plan needs nine in ten"
        )
    seen = setup_from(shape, instrument)
    loads = string_loads(instrument)
    known = margins(seen, loads, playing).known()
    setup = replace(seen, node_z_mm=bridged(seen.node_x_mm, seen.node_z_mm))
    rows = rows_of(setup, known, rod)
    limits = limits_for(setup, shape, playing, ANYTHING, rod)
    programme = Programme(rows, known, limits)
    return Planner(shape, setup, seen, loads, rod, known, rows, programme)
