"""How many more such dressings the frets have, in words."""

from __future__ import annotations

import math

from analysis.plan.life import FretLife, Life, Spare
from daq.text.sensitivity import WORTH_MM, metal_words
from daq.text.words import fixed

#: More dressings than this nobody plans for.
MANY = 20
#: So many frets are told.
TOLD = 3


def life_sentences(life: Life) -> list[str]:
    """The fret with the least life, those after it, the neck, and what would spare the first."""
    known = [one for one in life.frets if math.isfinite(one.dressings)]
    if not known:
        return ["How long the frets last is not known: no fret's height is."]
    first = known[0]
    said = []
    if life.usual:
        said.append(
            f"The plan takes no metal: a dressing is taken for {life.dressing_mm:g} mm off every "
            "fret (common practice, no source)."
        )
    said.append(
        f"Fret {first.fret} has the least life: {fixed(first.height_mm, 3)} ± "
        f"{fixed(2.0 * first.u_height_mm, 3)} mm left under string {first.string}, "
        f"{fixed(first.room_mm, 2)} mm over what the player needs, guard kept: {_more(first)} of "
        f"{fixed(first.dressing_mm, 3)} mm."
    )
    if first.dressings >= MANY + 1:
        return said
    rest = ", ".join(f"fret {one.fret}: {_count(one.dressings)}" for one in known[1:TOLD])
    if rest:
        said.append(f"After it come {rest}. {_neck(life)}")
    return [*said, *_spared(life, first)]


def _more(one: FretLife) -> str:
    count = _count(one.dressings)
    if count == "no":
        return "not one more dressing"
    return f"{count} more dressing{'' if count == '1' else 's'}"


def _count(dressings: float) -> str:
    if dressings >= MANY + 1:
        return f"more than {MANY}"
    # a fret left just at the limit by the solver's rounding has as many as it has
    return str(math.floor(dressings + 1e-6)) if dressings >= 1.0 - 1e-6 else "no"


def _neck(life: Life) -> str:
    each = f"{fixed(life.dressing_mm, 3)} mm off every fret"
    return f"The neck as a whole, at {each}: {_count(life.dressings)}."


def _spared(life: Life, first: FretLife) -> list[str]:
    if first.cut_mm <= 0.0:
        return []
    if not life.spares:
        return [
            f"Nothing small spares fret {first.fret}: neither other frets nor a tenth of action."
        ]
    return [_spare(one, first) for one in life.spares]


def _spare(one: Spare, first: FretLife) -> str:
    off = f"take {fixed(one.takes_mm, 3)} mm off fret {first.fret} instead of "
    off += fixed(first.dressing_mm, 3)
    cost = "about the same metal in all"
    if not one.string and one.metal_mm < WORTH_MM:
        # the plan weighs screws against metal too, and would rather not turn them so far
        cost = "more turning of screws"
    elif abs(one.metal_mm) >= WORTH_MM:
        way = "more" if one.metal_mm > 0.0 else "less"
        cost = f"{metal_words(abs(one.metal_mm))} {way} in all"
    how = "Spared for other frets' metal, a plan would"
    if one.string:
        how = f"{one.raise_mm:g} mm more action on string {one.string} would"
    return f"{how} {off}, for {cost}."
