"""What was measured over the years: values with their bars, a line where they change steadily."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from daq.figures.axes import Frame, bars, framed, ticks, y_axis
from daq.figures.html import Html, joined, tag
from daq.figures.key import ACROSS, DOT, UPRIGHT, Key, key_rows
from daq.figures.svg import drawing, label, line_through, number, path

#: Height of the field; room over it for the chart's edge, under it for dates, unit and key.
_HEIGHT: Final = 230.0
_TOP: Final = 20.0
_KEY: Final = 54.0
_MONTHS: Final = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov",
                  "Dec")  # fmt: skip
#: A span shorter than this has its months named; the least that is drawn.
_MONTHS_NAMED_YEARS: Final = 2.2
_LEAST_YEARS: Final = 2.0 / 12.0


@dataclass(frozen=True, slots=True)
class Line:
    """A change between two moments, as it was fitted: decimal years and values."""

    start: tuple[float, float]
    end: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Series:
    """What is drawn in one way. kind: `strung` filled dots, solid; `unstrung` open dots, dashed;
    `now` small and grey, for what stands behind. at: (decimal year, value, half of its bar)."""

    name: str
    kind: str
    at: Sequence[tuple[float, float, float]]
    line: Line | None = None


def time_chart(title: str, words: str, unit: str, series: Sequence[Series], least: float) -> Html:
    """unit: of the values, beside their axis. least: so much of them is drawn even where all are
    alike. Nothing where no series has a value.

    What has no bar is drawn without; values from 0 on where all are at least that.
    """
    rows = [row for one in series for row in one.at]
    if not rows:
        return Html("")
    frame = framed(_span([row[0] for row in rows]), _reach(rows, least), _HEIGHT, top=_TOP)
    key, foot = key_rows([_key(one) for one in series if one.at], frame.base + _KEY)
    return drawing(
        title,
        words,
        (frame.right + 16.0, foot + 4.0),
        y_axis(frame, unit),
        _time_axis(frame),
        *(_drawn(frame, one) for one in series),
        key,
    )


def _span(years: Sequence[float]) -> tuple[float, float]:
    low, high = min(years), max(years)
    wide = max(high - low, _LEAST_YEARS)
    middle = 0.5 * (low + high)
    return middle - 0.53 * wide, middle + 0.53 * wide


def _reach(rows: Sequence[tuple[float, float, float]], least: float) -> tuple[float, float]:
    low = min(value - half for _, value, half in rows)
    high = max(value + half for _, value, half in rows)
    if min(value for _, value, _ in rows) >= 0.0:
        low = 0.0
    span = max(high - low, least)
    return (low if low == 0.0 else low - 0.08 * span), max(high, low + least) + 0.08 * span


def _time_axis(frame: Frame) -> Html:
    """Along the foot: years, or months where there are few of them."""
    base = number(frame.base)
    marks = _dates(frame.x.low, frame.x.high)
    strokes = "".join(f"M{number(frame.x.at(at))} {base}v4" for at, _ in marks)
    middle = 0.5 * (frame.x.start + frame.x.stop)
    return joined(
        path(f"M{number(frame.x.start)} {base}H{number(frame.right)}{strokes}", "axis"),
        tag("g", *(label(said, frame.x.at(at), frame.base + 21.0) for at, said in marks),
            class_="mid"),
        label("date of the scan", middle, frame.base + 41.0, "soft mid"),
    )  # fmt: skip


def _dates(low: float, high: float) -> list[tuple[float, str]]:
    """Where a date is named, in decimal years, and how."""
    if high - low >= _MONTHS_NAMED_YEARS:
        return [(year, f"{year:.0f}") for year in ticks(low, high, 10) if year == round(year)]
    months = range(int(np.ceil(12.0 * low - 1e-6)), int(np.floor(12.0 * high + 1e-6)) + 1)
    every = next(n for n in (1, 2, 3, 6) if len(months) <= 8 * n or n == 6)
    return [(month / 12.0, f"{_MONTHS[month % 12]} {month // 12}")
            for month in months if month % every == 0]  # fmt: skip


def _drawn(frame: Frame, one: Series) -> Html:
    dots = "".join(f"M{number(frame.x.at(x))} {number(frame.y.at(y))}h0" for x, y, _ in one.at)
    if one.kind == "now":
        return path(dots, "dot-past")
    ends = [] if one.line is None else [one.line.start, one.line.end]
    fitted = [(frame.x.at(x), frame.y.clipped(y)) for x, y in ends]
    return joined(
        path(line_through(fitted), f"line-{one.kind}"),
        path(bars(frame, [row for row in one.at if row[2] > 0.0]), f"bar-{one.kind}"),
        path(dots, f"dot-{one.kind}"),
        path(dots, "hole") if one.kind == "unstrung" else Html(""),
    )


def _key(one: Series) -> Key:
    if one.kind == "now":
        return Key(one.name, [(DOT, "dot-past")])
    samples = [(ACROSS, f"line-{one.kind}")] if one.line is not None else []
    if any(half > 0.0 for _, _, half in one.at):
        samples.append((UPRIGHT, f"bar-{one.kind}"))
    samples.append((DOT, f"dot-{one.kind}"))
    return Key(one.name, [*samples, (DOT, "hole")] if one.kind == "unstrung" else samples)
