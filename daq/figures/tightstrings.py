"""The decision in pictures: each string where it has least room, now and after the plan."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis.plan.tight import Tight, TightStrings
from daq.figures.axes import LEFT, RIGHT, WIDTH
from daq.figures.boardmap import Cell, legend_rows
from daq.figures.cells import figure
from daq.figures.html import Html, joined
from daq.figures.sideview import side_view
from daq.figures.stringview import Near, near, near_panel
from daq.figures.svg import drawing, label
from daq.text.tight import held_words, worst_words

#: Height of the field of a string drawn large, and of one drawn small.
_LARGE, _SMALL = 220.0, 104.0
#: Room for the panel's name and its two lines, and under it for the frets' numbers.
_HEAD, _FOOT = 52.0, 30.0
#: So many small ones stand side by side.
_BESIDE = 2
#: So many strings are drawn large.
_TOLD = 2

_WORDS = (
    "The string is held at the left and runs to its saddle at the right. Close by, every height is "
    "measured from the lowest that its swing comes, the line at 0: what reaches above it touches. "
    "Lighter, under the line: the guard for what is not known. Broken line: how low an ideal "
    "string comes, plucked away from the frets. Frets lower than a drawing reaches have more room. "
)
_AFTER = (
    "Frets stand as after the plan, the rod acting as it is taken to; what is filed off is drawn "
    "on them as high as the heights are; a lozenge is where the fret's top is now, a cross over "
    "it: it touches now."
)
_NOW = "Frets stand as they are, for there is no plan. A cross over one: it touches."


def tight_figure(strings: TightStrings, cut: bool) -> Html:
    """The most telling strings large, from one end to the other and close by; the others small.

    cut: there is a plan; else the neck is drawn as it is.
    """
    order = telling(strings.each)
    if not order:
        return Html("")
    words = f"{_WORDS}{_AFTER if cut else _NOW}"
    large = [order[0], *(one for one in order[1:_TOLD] if _tells(one))]
    small = sorted(order[len(large) :], key=lambda one: one.string)
    drawings = []
    for one in large:
        # a bent string lies across the board, not over its own frets
        drawings += [] if one.bend else [side_view(strings, one, cut)]
        drawings.append(_large(one, cut, words))
    drawings += [_rows(small, cut, words)] if small else []
    return figure("Where each string has least room", words, *drawings)


def telling(each: Sequence[Tight]) -> list[Tight]:
    """The string with least room first, then the one for which most metal comes off."""
    by_room = sorted(each, key=lambda one: -one.short_now_mm)
    return by_room[:1] + sorted(by_room[1:], key=lambda one: -float(one.cut_mm.sum()))


def _tells(one: Tight) -> bool:
    """It touches, or may, or loses metal."""
    return one.short_now_mm > 0.0 or bool((one.cut_mm > 0.0).any())


def _large(one: Tight, cut: bool, words: str) -> Html:
    seen = near(one, _LARGE, LEFT, WIDTH - RIGHT, _HEAD)
    title = f"{held_words(one)}, from close by"
    bottom = seen.frame.base + _FOOT
    legend, end = legend_rows(_legend(cut), WIDTH, bottom)
    return drawing(
        title, words, (WIDTH, end), _panel(seen, cut, "over the swing's lowest, mm", title), legend
    )


def _rows(small: Sequence[Tight], cut: bool, words: str) -> Html:
    wide, tall = WIDTH / _BESIDE, _HEAD + _SMALL + _FOOT
    panels = []
    for place, one in enumerate(small):
        row, column = divmod(place, _BESIDE)
        left, top = column * wide, row * tall
        seen = near(one, _SMALL, left + 44.0, left + wide - 8.0, top + _HEAD)
        panels.append(_panel(seen, cut, "", held_words(one)))
    rows = -(-len(small) // _BESIDE)
    title = "The other strings, each where it has least room, mm over the lowest its swing comes"
    return drawing(title, words, (WIDTH, rows * tall), *panels)


def _panel(seen: Near, cut: bool, unit: str, title: str) -> Html:
    """Its name, what is told of it, the picture."""
    one, left = seen.tight, seen.frame.x.start
    top = seen.frame.top - _HEAD
    scale = f"; heights {_round(seen.exaggerated)} times lengths" if unit else ""
    lines = [label(f"{title}{scale}", left, top + 14.0, "head")]
    lines.append(label(worst_words(one, after=False), left, top + 28.0, "soft"))
    if cut:
        lines.append(label(worst_words(one, after=True), left, top + 42.0))
    return joined(*lines, near_panel(seen, cut=cut, unit=unit))


def _round(times: float) -> str:
    """To two digits, for a picture is read no better."""
    power = 10.0 ** (np.floor(np.log10(times)) - 1.0)
    return f"{round(times / power) * power:.0f}"


def _legend(cut: bool) -> list[Cell]:
    entries = [Cell("the string's swing", "swing"), Cell("guard", "guard")]
    entries.append(Cell("fret after the plan" if cut else "fret", "crown-fret"))
    return [*entries, Cell("filed off", "removed")] if cut else entries
