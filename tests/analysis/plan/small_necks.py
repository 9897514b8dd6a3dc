"""A neck of two strings with five frets to cut, its rows probed from geometry alone.

Needs and uncertainties are taken over: they have tests of their own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan import programme
from analysis.plan.limits import CUT_SLOPE, LEAST_NUT_GAP_MM, NUT_RANGE_MM, SADDLE_RANGE_MM
from analysis.plan.plan import Plan
from analysis.plan.planner import planner_for
from analysis.plan.target import Target
from analysis.rod.rod import Rod
from analysis.strings.playing import PlayingProfile

from ...planned import make_plan

Array = np.ndarray
#: The frets that have metal to give, and how much.
GIVING = np.array([2, 4, 6, 8, 10])
ROOM_MM = np.array([0.10, 0.16, 0.12, 0.20, 0.14])


@dataclass
class Small:
    """A neck, and what may be done to it: rows @ v >= least, 0 <= v <= most, cost @ v.

    v: cuts of the giving frets [5 x strings], then per string saddle up, saddle down, nut up, nut
    down, then relief up and down. Rows as geometry has them, one for every way the rod may act.
    """

    instrument: Instrument
    shape: Shape
    player: PlayingProfile
    rod: Rod
    keep: frozenset[str]

    def __post_init__(self) -> None:
        strings, frets = len(self.instrument.strings), self.instrument.frets
        planner = planner_for(self.shape, self.instrument, self.player, self.rod)
        known = planner.margins
        self.wanted = {
            (int(s) - 1, int(n), int(m)): float(need + self.player.guard * u)
            for s, n, m, need, u in zip(
                known.string, known.fretted, known.at, known.swing_mm, known.u_mm, strict=True
            )
        }
        assert len(self.wanted) == strings * frets * (frets + 1) // 2
        size = GIVING.size * strings + 4 * strings + 2
        base = self.over(np.zeros(size))
        slopes = np.stack([self.over(one) - base for one in np.eye(size)], axis=1)
        self.rows, self.least = slopes, -base
        self.most = self.bounds()
        metal = 1.0 + programme.LIFE_COST * (1.0 - np.repeat(ROOM_MM, strings) / ROOM_MM.max())
        saddle, nut, rod = programme.SADDLE_COST, programme.NUT_COST, programme.ROD_COST
        screws = np.repeat([saddle, saddle, nut, nut], strings)
        self.cost = np.concatenate([metal, screws, [rod, rod]])

    def bounds(self) -> Array:
        """A slot is filed no further than leaves LEAST_NUT_GAP_MM over fret 1."""
        strings = len(self.instrument.strings)
        saddle = 0.0 if "saddles" in self.keep else 1.0
        nut = 0.0 if "nut" in self.keep else 1.0
        relief = 0.0 if "rod" in self.keep else self.rod.most_relief_mm
        deepest = np.minimum(np.array(self.instrument.nut_gap_mm) - LEAST_NUT_GAP_MM, 0.3)
        return np.concatenate(
            [
                np.repeat(ROOM_MM, strings),
                saddle * np.repeat([SADDLE_RANGE_MM[1], -SADDLE_RANGE_MM[0]], strings),
                nut * np.full(strings, NUT_RANGE_MM[1]),
                nut * deepest,
                [relief, relief],
            ]
        )

    def over(self, v: Array) -> Array:
        """Everything that must not be negative, the plan v carried out on the neck."""
        strings = len(self.instrument.strings)
        k = GIVING.size * strings
        cuts = np.zeros(self.shape.top_mm.shape)
        cuts[GIVING] = v[:k].reshape(GIVING.size, strings)
        up, down, nut_up, nut_down = v[k : k + 4 * strings].reshape(4, strings)
        relief = v[-2] - v[-1]
        out: list[float] = []
        for case in self.rod.cases:
            top = self.shape.top_mm - cuts + relief * case.tops
            saddle = self.found[1] + up - down + relief * case.saddle
            out += self.clear(top, self.found[0] + nut_up - nut_down, saddle)
        spacing = np.abs(np.diff(self.instrument.string_y_mm(np.array([1.0, 2.0]), self.x), axis=1))
        step, room = np.diff(cuts, axis=1), CUT_SLOPE * spacing
        return np.concatenate([out, (room - step)[GIVING].ravel(), (room + step)[GIVING].ravel()])

    @property
    def x(self) -> Array:
        return self.shape.x_mm

    @property
    def ends(self) -> Array:
        """Where the strings end."""
        return self.instrument.saddle_x_mm(self.instrument.string_numbers)

    @property
    def found(self) -> tuple[Array, Array]:
        """Strings at the nut and the saddle: straight through what was measured at 1 and 12."""
        first = self.shape.top_mm[0] + np.array(self.instrument.nut_gap_mm)
        twelfth = self.shape.top_mm[11] + np.array(self.instrument.action_mm)
        slope = (twelfth - first) / (self.x[11] - self.x[0])
        return first - slope * self.x[0], first + slope * (self.ends - self.x[0])

    def clear(self, top: Array, nut: Array, saddle: Array) -> list[float]:
        """Each margin over what it wants; then how much lower the action is than it may be."""
        out = []
        for (s, n, m), wanted in self.wanted.items():
            at, held = (0.0, nut[s]) if n == 0 else (self.x[n - 1, s], top[n - 1, s])
            share = (self.x[m - 1, s] - at) / (self.ends[s] - at)
            out.append(held + share * (saddle[s] - held) - top[m - 1, s] - wanted)
        share = self.x[11] / self.ends
        action = nut + share * (saddle - nut) - top[11]
        return [*out, *(self.player.highest_action(action.size) - action).tolist()]

    def plan(self) -> Plan:
        return make_plan(self.shape, self.instrument, self.player, Target(self.keep), self.rod)

    def v_of(self, plan: Plan) -> Array:
        parts = [np.clip(sign * change, 0.0, None) for change, sign in (
            (plan.saddle_mm, 1), (plan.saddle_mm, -1), (plan.nut_mm, 1), (plan.nut_mm, -1),
            (np.array([plan.relief_change_mm]), 1), (np.array([plan.relief_change_mm]), -1),
        )]  # fmt: skip
        assert np.delete(plan.remove_mm, GIVING, axis=0).max() == 0.0
        return np.concatenate([plan.remove_mm[GIVING].ravel(), *parts])
