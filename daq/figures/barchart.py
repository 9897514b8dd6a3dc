"""Amounts as bars one under another, each named and told of over it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from daq.figures.axes import WIDTH, Axis
from daq.figures.html import Html, joined, tag
from daq.figures.svg import box, drawing, label, line_through, number, path

#: Room beyond the longest bar, for the arrow of one that is cut off.
_ARROW = 14.0
_ROW, _THICK, _GROUP = 31.0, 8.0, 30.0
#: Where the words over a bar stand, from the top of its row.
_WORDS = 15.0


@dataclass(frozen=True, slots=True)
class Bar:
    """value: NaN is no bar. band: drawn either way from its end, if any. kind: its style class."""

    name: str
    value: float
    told: str
    kind: str = "q3"
    band: float = 0.0


@dataclass(frozen=True, slots=True)
class Group:
    title: str
    bars: Sequence[Bar]


def bar_chart(
    title: str, words: str, groups: Sequence[Group], most: float, mark: float = np.nan
) -> Html:
    """Bars from 0; one longer than `most` is cut off with an arrow. mark: an upright line."""
    axis = Axis(0.0, max(most, 1e-9), 2.0, WIDTH - _ARROW)
    parts: list[Html] = []
    y = 0.0
    feet = []
    for group in groups:
        y += _GROUP
        parts.append(label(group.title, 0.0, y - 4.0, "head"))
        for bar in group.bars:
            parts.append(_bar(axis, bar, y))
            feet += [y + _WORDS + 4.0] * bool(np.isfinite(bar.value))
            y += _ROW
    base = _uprights(axis.start, feet)
    line = Html("")
    if np.isfinite(mark) and mark <= most:
        line = path(_uprights(axis.at(mark), feet), "mark")
    return drawing(title, words, (WIDTH, y + 8.0), *parts, path(base, "axis"), line)


def _uprights(x: float, feet: Sequence[float]) -> str:
    """A line beside every bar, or through it."""
    return "".join(f"M{number(x)} {number(y)}v{number(_THICK + 2.0)}" for y in feet)


def _bar(axis: Axis, bar: Bar, top: float) -> Html:
    foot = top + _WORDS
    name = label(bar.name, axis.start, foot)
    told = label(bar.told, axis.stop, foot, "soft end")
    if not np.isfinite(bar.value):
        return joined(name, told)
    y = foot + 5.0
    end = axis.clipped(bar.value)
    drawn = path(box(axis.start, y, max(end - axis.start, 0.8), _THICK), bar.kind)
    if bar.value > axis.high:
        tip = [(end, y - 1.0), (end + 8.0, y + 0.5 * _THICK), (end, y + _THICK + 1.0)]
        return joined(name, told, tag("g", drawn, path(line_through(tip, closed=True), bar.kind)))
    middle = y + 0.5 * _THICK
    whisker = ""
    if bar.band > 0.0:
        ends = [axis.clipped(bar.value - bar.band), axis.clipped(bar.value + bar.band)]
        whisker = f"M{number(ends[0])} {number(middle)}H{number(ends[1])}"
        whisker += "".join(f"M{number(x)} {number(middle - 3.0)}v6" for x in ends)
    return joined(name, told, drawn, path(whisker, "whisker"))
