"""Where only the guard is missed: how much better what would have to be known."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from analysis.plan.cure import Cure, CureKind, least_steps
from analysis.plan.planner import Planner
from analysis.plan.programme import Solution
from analysis.plan.setup import Setup
from analysis.plan.target import Target
from analysis.strings.playing import PlayingProfile

#: Uncertainty is had down by steps of this share, and to no less than a quarter: sixteen scans
#: as good as the first (own choice).
SHARE_STEP, LEAST_SHARE = 0.05, 0.25


def measured(planner: Planner, playing: PlayingProfile, target: Target) -> Iterator[Cure]:
    """Where only the guard is missed: tops alone better known, string heights alone, or both."""
    ways: tuple[tuple[CureKind, bool, bool], ...] = (
        ("scan again", True, False),
        ("heights again", False, True),
        ("measure again", True, True),
    )
    for kind, tops, heights in ways:
        cure = _known_better(planner, playing, target, kind, tops, heights)
        if cure is not None:
            yield cure
            if kind != "scan again":
                return


def _known_better(
    planner: Planner,
    playing: PlayingProfile,
    target: Target,
    kind: CureKind,
    tops: bool,
    heights: bool,
) -> Cure | None:
    rows = planner.played(playing)

    def solved(steps: int) -> Solution:
        share = 1.0 - SHARE_STEP * steps
        of_tops, of_heights = share if tops else 1.0, share if heights else 1.0
        known = _setup_known(planner.setup, of_tops, of_heights)
        shape = replace(planner.shape, u_height_mm=of_tops * planner.shape.u_height_mm)
        limits = replace(planner, shape=shape).limits(playing, target)
        return planner.programme.solve(rows.known_to(known), limits)

    found = least_steps(solved, round((1.0 - LEAST_SHARE) / SHARE_STEP))
    if found is None:
        return None
    share = 1.0 - SHARE_STEP * found[0]
    u_action = planner.setup.instrument.u_action_mm
    return Cure(kind, found[1].metal_mm, amount=share if tops else share * u_action)


def _setup_known(setup: Setup, of_tops: float, of_heights: float) -> Setup:
    return replace(
        setup,
        u_node_mm=of_tops * setup.u_node_mm,
        u_nut_mm=of_heights * setup.u_nut_mm,
        u_saddle_mm=of_heights * setup.u_saddle_mm,
    )
