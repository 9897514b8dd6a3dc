"""Which places hold a plan, and how well its metal is known."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.plan.limits import Limits
from analysis.plan.planner import Planner
from analysis.plan.programme import Prices
from analysis.plan.replan import Replanned

#: So many places are asked what they hold: the others hold less, by their prices.
PLACES = 6


@dataclass(frozen=True, slots=True)
class Holding:
    """A string in one position (0: open), and the metal that comes off for it alone.

    holds_mm: what would stay on if it needed no room; two places may hold the same metal. at: the
    fret where it presses most. price: metal, mm, for one more mm of its need over `at`.
    """

    string: int
    fretted: int
    bend: bool
    at: int
    holds_mm: float
    price: float


def places_held(
    planner: Planner, found: Replanned, prices: Prices, limits: Limits
) -> tuple[Holding, ...]:
    """Exact for the places that hold most by their prices: asked again as if they needed none.

    found: a plan that meets everything, within these limits; prices: its own.
    """
    margins, first = found.margins, found.margins.first
    wanted = np.clip(margins.swing_mm + limits.guard * margins.u_mm, 0.0, None)
    by_price = np.add.reduceat(prices.margin * wanted, first)
    out = []
    for place in np.argsort(-by_price, kind="stable")[:PLACES].tolist():
        rows = np.arange(first[place], [*first, margins.string.size][place + 1])
        if by_price[place] <= 0.0:
            break
        others = np.ones(margins.string.size, dtype=bool)
        others[rows] = False
        without = planner.programme.solve(margins.asking(others), limits)
        at = rows[np.argmax(prices.margin[rows])]
        out.append(
            Holding(
                int(margins.string[at]),
                int(margins.fretted[at]),
                bool(margins.bend[at]),
                int(margins.at[at]),
                max(found.solution.metal_mm - without.metal_mm, 0.0),
                float(prices.margin[at]),
            )
        )
    return tuple(sorted(out, key=lambda one: -one.holds_mm))


def u_metal_mm(planner: Planner, prices: Prices) -> float:
    """Of a plan's metal: every top, nut and saddle height by the metal that hangs on it close by.

    Little hangs on a saddle's height, for its screw takes out what was read wrong.
    """
    setup, margins = planner.setup, planner.margins
    share = setup.share_at_twelve
    parts = (
        (prices.margin @ margins.nodes, np.nan_to_num(setup.u_node_mm).ravel()),
        (prices.margin @ margins.nut + prices.action * (1.0 - share), setup.u_nut_mm),
        (prices.margin @ margins.saddle + prices.action * share, setup.u_saddle_mm),
    )
    return float(np.sqrt(sum(np.sum((slope * u) ** 2) for slope, u in parts)))
