"""The metal that uncertainty costs: what comes off only because something is not known better."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from analysis.neck.shape import Shape
from analysis.plan.limits import limits_for
from analysis.plan.margins import U_TENSION, Margins
from analysis.plan.planner import Planner
from analysis.plan.programme import Programme, Solution
from analysis.plan.rows import rows_of
from analysis.plan.setup import Setup, at_nodes
from analysis.plan.target import Target
from analysis.rod.rod import Rod
from analysis.strings.playing import PlayingProfile

What = Literal["unstrung again", "both again", "heights", "tension", "between", "rod", "everything"]
#: Terms of a top that every scan draws anew, so that one more scan lowers them. As much of
#: `crown` as does is not known before a second scan, and counts as shared; rail, sensor, tip,
#: spot and place are the same in every scan.
ANEW = ("noise", "drift", "repeat")
#: How clamping bends the strung neck: the mean over its own scans.
BENDS = "clamping"
#: Of the field that moves unstrung tops to where they stand strung: both states' scans in it.
FIELD = "movement"


@dataclass(frozen=True, slots=True)
class Saving:
    """One thing known better, and the metal it saves.

    saves_mm: NaN where there is no plan before or after. feasible: whether there is one then.
    "heights": string heights known twice as well, `u_mm` then over fret 12. "tension": the
    strings' tension known exactly, not from their gauges. "between": the crowns that a bent string
    meets where no lane runs.
    """

    what: What
    saves_mm: float
    feasible: bool
    u_mm: float = float("nan")


@dataclass(frozen=True, slots=True)
class UncertaintyPrice:
    """metal_mm, feasible: the plan as it is. u_height_mm: string heights as they are known."""

    metal_mm: float
    feasible: bool
    u_height_mm: float
    savings: tuple[Saving, ...]

    def of(self, what: What) -> Saving | None:
        return next((one for one in self.savings if one.what == what), None)


def uncertainty_price(
    planner: Planner, playing: PlayingProfile, target: Target, scans: Mapping[str, int]
) -> UncertaintyPrice:
    """Each thing known better by itself, solved again, and everything known exactly.

    scans: how many were combined, by state ("strung", "unstrung"). What a plan leaves under the
    guard is not all lost with it: some of the neck's need is there whatever is known.
    """
    limits = planner.limits(playing, target)
    plan = planner.solve(playing, limits)
    strung, unstrung = scans.get("strung", 1), scans.get("unstrung", 1)

    def known(setup: Setup) -> Solution:
        margins = planner.played(playing).known_to(setup)
        return planner.programme.solve(margins, limits)

    def saving(what: What, done: Solution, u_mm: float = float("nan")) -> Saving:
        both = plan.feasible and done.feasible
        saves = plan.metal_mm - done.metal_mm if both else float("nan")
        return Saving(what, saves, done.feasible, u_mm)

    setup, again = planner.setup, scanned_again
    heights = replace(setup, u_nut_mm=0.5 * setup.u_nut_mm, u_saddle_mm=0.5 * setup.u_saddle_mm)
    u_height = float(np.max(setup.u_nut_mm))
    savings = [
        saving("unstrung again", known(again(setup, planner.shape, (strung, unstrung), (0, 1)))),
        saving("both again", known(again(setup, planner.shape, (strung, unstrung), (1, 1)))),
        saving("heights", known(heights), 0.5 * u_height),
    ]
    margins = planner.played(playing)
    savings.append(saving("tension", planner.programme.solve(_weighed(margins), limits)))
    savings.append(saving("between", planner.programme.solve(_seen(margins, setup), limits)))
    sure = replace(playing, guard=0.0)
    nothing = limits_for(setup, planner.shape, sure, target, planner.rod)
    one_rod = Programme(rows_of(setup, margins, _stated(planner.rod)), margins, limits)
    if not planner.rod.learnt and "rod" not in target.fixed:
        savings.append(saving("rod", one_rod.solve(margins, limits)))
    savings.append(saving("everything", one_rod.solve(margins, nothing)))
    return UncertaintyPrice(plan.metal_mm, plan.feasible, u_height, tuple(savings))


def scanned_again(
    setup: Setup, shape: Shape, scans: tuple[int, int], more: tuple[int, int]
) -> Setup:
    """The setup with tops known as after `more` scans; scans, more: (strung, unstrung).

    What scans draw anew falls with the root of their number, the movement's field with both
    states' scans (its variance is the sum of theirs). Tops midway between the strings are
    taken to gain as their neighbours do, for what theirs are made of is not kept.
    """
    strung, unstrung = (n / (n + m) for n, m in zip(scans, more, strict=True))
    field = (strung / scans[0] + unstrung / scans[1]) / (1.0 / scans[0] + 1.0 / scans[1])
    left = {**dict.fromkeys(ANEW, unstrung), BENDS: strung, FIELD: field}
    gone = sum(
        (1.0 - left.get(name, 1.0)) * np.square(part) for name, part in shape.terms.parts.items()
    )
    share = np.sqrt(np.clip(1.0 - gone / np.square(shape.u_top_mm), 0.0, 1.0))
    return replace(setup, u_node_mm=setup.u_node_mm * at_nodes(np.asarray(share)))


def _weighed(margins: Margins) -> Margins:
    """As if every string's mass were known: a swing is then as sure as its pluck."""
    left = margins.u_mm**2 - (U_TENSION * margins.swing_mm) ** 2
    return replace(margins, u_mm=np.sqrt(np.clip(left, 0.0, None)))


def _seen(margins: Margins, setup: Setup) -> Margins:
    """As if a lane ran wherever a bent string may lie."""
    return replace(margins, u_unseen_mm=np.zeros_like(margins.u_unseen_mm)).known_to(setup)


def _stated(rod: Rod) -> Rod:
    """As if it were known to act as it is stated to."""
    return replace(rod, cases=rod.cases[:1], left=rod.left[:1])
