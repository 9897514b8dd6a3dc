"""One thing that would cure an infeasible plan, and the search for the least of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from analysis.plan.programme import Solution

CureKind = Literal[
    "scan again", "heights again", "measure again",
    "free", "action", "saddles", "nut", "rod",
    "softer", "bends",
    "lower frets",
    "refret",
]  # fmt: skip
#: Cheapest first: measuring, then screws, then playing, then metal, then new frets.
_ORDER: dict[CureKind, int] = {
    "scan again": 0, "heights again": 0, "measure again": 0,
    "free": 1, "action": 1, "saddles": 1, "nut": 1, "rod": 1,
    "softer": 2, "bends": 2,
    "lower frets": 3,
    "refret": 4,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Cure:
    """One thing that alone makes the programme feasible, and the metal it then takes.

    free: what would no longer be kept. raise_mm: [strings], by how much the highest action
    ("action") or the end of the range of the saddles or the nut must be passed; negative: down.
    frets: those to replace. amount: by kind, the share of today's uncertainty that is little
    enough ("scan again", "measure again"), the standard uncertainty of string heights in mm
    ("heights again"), the rod's turns, the pluck force in N ("softer"), semitones ("bends"),
    the least fret height in mm ("lower frets"), the height of a new crown in mm ("refret").
    """

    kind: CureKind
    metal_mm: float
    free: tuple[str, ...] = ()
    raise_mm: tuple[float, ...] = ()
    frets: tuple[int, ...] = ()
    amount: float = 0.0


def cheapest_first(found: list[Cure]) -> tuple[Cure, ...]:
    """Screws before gentler playing before metal before new frets; within each the least metal."""
    return tuple(sorted(found, key=lambda cure: (_ORDER[cure.kind], cure.metal_mm)))


def least_steps(solved: Callable[[int], Solution], most: int) -> tuple[int, Solution] | None:
    """The fewest steps that will do, and the solution with them; None where `most` will not.

    solved: with so many steps; more steps never do less. By bisection, so that every answer was
    solved with the steps in place, and so was one step less.
    """
    best = solved(most)
    if not best.feasible:
        return None
    low, high = 0, most
    while high - low > 1:
        middle = (low + high) // 2
        solution = solved(middle)
        if solution.feasible:
            high, best = middle, solution
        else:
            low = middle
    return high, best
