"""A string where it is held, from close by: the picture with its words and its key."""

from __future__ import annotations

import numpy as np

from analysis.plan.tight import Tight
from daq.figures.axes import LEFT, RIGHT, WIDTH
from daq.figures.html import Html, joined
from daq.figures.key import ACROSS, FILLED, UPRIGHT, Key, key_rows
from daq.figures.sideview import larger, times
from daq.figures.stringview import Near, changes, near, near_panel
from daq.figures.svg import drawing, label
from daq.text.tight import held_words, worst_words

#: Height of the field, room over it for the picture's name and its two lines, and under it for
#: the frets' numbers.
_HEIGHT, HEAD, FOOT = 220.0, 52.0, 30.0

WORDS = (
    "The string is held at the left and runs to its saddle at the right. Every height is measured "
    "from the lowest that its swing comes, the line at 0: what reaches above it touches. Lighter, "
    "under the line: the guard for what is not known. Broken line: how low an ideal string comes, "
    "plucked away from the frets. Frets lower than the drawing reaches have more room. "
)
AFTER_WORDS = (
    "Frets stand as after the plan, the rod acting as it is taken to; what is filed off is drawn "
    "on them as high as the heights are; a lozenge is where the fret's top is now, a cross over "
    "it: it touches now."
)
NOW_WORDS = "Frets stand as they are, for nothing is changed. A cross over one: it touches."


def close_words(tight: Tight) -> str:
    return WORDS + (AFTER_WORDS if changes(tight) else NOW_WORDS)


def close_view(tight: Tight, frets: tuple[int, int] | None = None) -> Html:
    """frets: the first and last drawn; None: those near the one with least room."""
    seen = near(tight, _HEIGHT, LEFT, WIDTH - RIGHT, HEAD, frets)
    title = f"{held_words(tight)}, from close by"
    legend, end = key_rows(_keys(tight), seen.frame.base + FOOT)
    return drawing(
        title,
        close_words(tight),
        (WIDTH, end),
        close_panel(seen, "over the swing's lowest, mm", title),
        label(
            f"heights {times(larger(seen.frame))} times lengths", WIDTH - RIGHT, 14.0, "soft end"
        ),
        legend,
    )


def close_panel(seen: Near, unit: str, title: str) -> Html:
    """Its name, what is told of it, the picture."""
    one, left = seen.tight, seen.frame.x.start
    top = seen.frame.top - HEAD
    lines = [label(title, left, top + 14.0, "head")]
    lines.append(label(worst_words(one, after=False), left, top + 28.0, "soft"))
    if changes(one):
        lines.append(label(worst_words(one, after=True), left, top + 42.0))
    return joined(*lines, near_panel(seen, unit=unit))


def _keys(tight: Tight) -> list[Key]:
    keys = [
        Key("the string's swing", [(FILLED, "swing")]),
        Key("guard", [(FILLED, "guard")]),
        Key("ideal string", [(ACROSS, "ideal")]),
    ]
    changed = changes(tight)
    fret = "fret after the plan, ± twice u" if changed else "fret, ± twice u"
    keys.append(Key(fret, [(_FRET, "crown-fret"), (UPRIGHT, "whisker")]))
    if np.any(tight.cut_mm > 0.0):
        keys.append(Key("filed off", [(_FRET, "removed")]))
    if changed:
        keys.append(Key("top now", [("m9 7l4-4l4 4l-4 4z", "was")]))
    return keys


_FRET = "m8 1h10v12h-10z"
