"""A string where it is held, from close by: the picture with its words and its key."""

from __future__ import annotations

import numpy as np

from analysis.plan.tight import Tight
from daq.figures.axes import LEFT, RIGHT, WIDTH, heading
from daq.figures.html import Html, joined
from daq.figures.key import ACROSS, FILLED, UPRIGHT, Key, key_rows
from daq.figures.sideview import LINE, larger, times, told_rows
from daq.figures.stringview import Near, changes, near, near_panel
from daq.figures.svg import drawing, label
from daq.text.tight import held_words, worst_words

#: Height of the field, room over it for a small picture's name and its two lines, and under it
#: for the frets' numbers.
_HEIGHT, HEAD, FOOT = 150.0, 64.0, 28.0

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


def close_view(tight: Tight, frets: tuple[int, int] | None = None, *, named: bool = True) -> Html:
    """frets: the first and last drawn; None: those near the one with least room. named: its name
    stands in it."""
    told, foot = told_rows(_told(tight), LEFT, 2.0 * LINE if named else LINE - 3.0)
    seen = near(tight, _HEIGHT, LEFT, WIDTH - RIGHT, foot + 10.0, frets)
    title = f"{held_words(tight)}, from close by"
    keys = _keys(tight)
    keys.append(Key(f"heights {times(larger(seen.frame))} times lengths", []))
    legend, end = key_rows(keys, seen.frame.base + FOOT)
    return drawing(
        title,
        close_words(tight),
        (WIDTH, end),
        heading(title) if named else Html(""),
        told,
        near_panel(seen, unit="mm over the swing"),
        legend,
    )


def small_view(seen: Near, title: str) -> Html:
    """Its name, what is told of it line by line, the picture; `HEAD` is the room over it."""
    left, top = seen.frame.x.start, seen.frame.top - HEAD
    told = _told(seen.tight)
    return joined(
        label(title, left, top + LINE, "head"),
        *(label(said, left, top + (n + 2.0) * LINE, kind) for n, (said, kind) in enumerate(told)),
        near_panel(seen),
    )


def _told(tight: Tight) -> list[tuple[str, str]]:
    now = (worst_words(tight, after=False), "soft")
    return [now, (worst_words(tight, after=True), "")] if changes(tight) else [now]


def _keys(tight: Tight) -> list[Key]:
    keys = [
        Key("swing", [(FILLED, "swing")]),
        Key("guard", [(FILLED, "guard")]),
        Key("ideal string", [(ACROSS, "ideal")]),
    ]
    changed = changes(tight)
    fret = "fret after, ± twice u" if changed else "fret, ± twice u"
    keys.append(Key(fret, [(_FRET, "crown-fret"), (UPRIGHT, "whisker")]))
    if np.any(tight.cut_mm > 0.0):
        keys.append(Key("filed off", [(_FRET, "removed")]))
    if changed:
        keys.append(Key("top now", [("m9 7l4-4l4 4l-4 4z", "was")]))
    return keys


_FRET = "m8 1h10v12h-10z"
