"""The likely part of a lattice of settings, found without trying all of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator

Place = tuple[int, ...]
#: Settings less likely than the best by more than this (natural logarithm) are left out.
DEPTH = 4.0


def likely_part(
    log_chance: Callable[[Place], float], shape: Place, start: Place
) -> dict[Place, float]:
    """Every place within DEPTH of the best one and joined to it, with its log chance.

    Climbs from `start` to the best neighbour until there is none better, then spreads out.
    """
    known: dict[Place, float] = {}

    def chance(place: Place) -> float:
        if place not in known:
            known[place] = log_chance(place)
        return known[place]

    top = start
    while (better := max(_near(top, shape), key=chance)) and chance(better) > chance(top):
        top = better
    edge, best = [top], chance(top)
    part = {top: best}
    while edge:
        for place in _near(edge.pop(), shape):
            if place not in part and chance(place) > best - DEPTH:
                part[place] = chance(place)
                best = max(best, part[place])
                edge.append(place)
    return {place: value for place, value in part.items() if value > best - DEPTH}


def _near(place: Place, shape: Place) -> Iterator[Place]:
    """The neighbours along each axis, inside the lattice."""
    for axis, length in enumerate(shape):
        for step in (-1, 1):
            if 0 <= place[axis] + step < length:
                yield (*place[:axis], place[axis] + step, *place[axis + 1 :])
