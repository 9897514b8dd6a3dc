"""Amounts as bars one under another, each named to its left and told of to its right."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from daq.figures.axes import WIDTH, Axis
from daq.figures.html import Html, joined, tag
from daq.figures.svg import box, drawing, label, line_through, number, path

_NAME, _TOLD = 262.0, 262.0
_ROW, _THICK, _GROUP = 18.0, 11.0, 24.0


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
    axis = Axis(0.0, max(most, 1e-9), _NAME, WIDTH - _TOLD)
    parts: list[Html] = []
    y = 0.0
    tops = []
    for group in groups:
        y += _GROUP
        parts.append(label(group.title, 0.0, y - 6.0, "head"))
        tops.append((y, y + _ROW * len(group.bars)))
        for bar in group.bars:
            parts.append(_bar(axis, bar, y))
            y += _ROW
    base = "".join(f"M{number(_NAME)} {number(a)}V{number(b)}" for a, b in tops)
    line = Html("")
    if np.isfinite(mark) and mark <= most:
        at = number(axis.at(mark))
        line = path("".join(f"M{at} {number(a)}V{number(b)}" for a, b in tops), "carried")
    return drawing(title, words, (WIDTH, y + 8.0), *parts, path(base, "axis"), line)


def _bar(axis: Axis, bar: Bar, top: float) -> Html:
    foot = top + 0.5 * _ROW + 4.0
    name = label(bar.name, axis.start - 8.0, foot, "end")
    told = label(bar.told, axis.stop + 12.0, foot, "soft")
    if not np.isfinite(bar.value):
        return joined(name, told)
    y = top + 0.5 * (_ROW - _THICK)
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
