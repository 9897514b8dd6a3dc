"""Where no plan will do: what would cure it, the cheapest of each kind."""

from __future__ import annotations

from analysis.plan.cure import Cure, cheapest_first
from analysis.plan.easing import easings
from analysis.plan.planner import Planner
from analysis.plan.refret import Refret, refret, worn_out
from analysis.plan.target import Target
from analysis.strings.playing import PlayingProfile


def cures(planner: Planner, playing: PlayingProfile, target: Target) -> tuple[Cure, ...]:
    """Each was planned with it in place. Cheapest first; empty where nothing alone will do."""
    found = list(easings(planner, playing, target))
    new = refret(planner, playing, target)
    return cheapest_first([*found, new] if new is not None else found)


def refrets(
    planner: Planner, playing: PlayingProfile, found: tuple[Cure, ...]
) -> tuple[Refret, ...]:
    """Frets worn out, and those that the cheapest set of new frets would replace."""
    why = {one.fret: one.why for one in worn_out(planner.shape, playing)}
    for cure in found:
        for fret in cure.frets:
            others = "" if len(cure.frets) == 1 else " and the others named"
            why.setdefault(
                fret, f"with a new crown of {cure.amount:.2f} mm here{others} a plan works"
            )
    return tuple(Refret(fret, why[fret]) for fret in sorted(why))
