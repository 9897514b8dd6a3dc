"""The frame of a chart: two scales, their round numbers, and units beside both."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray, Instrument
from daq.figures.html import Html, joined, tag
from daq.figures.svg import TEXT, label, line_through, number, path, text_width

WIDTH = 760.0
LEFT, RIGHT = 66.0, 16.0
#: Room for a heading and the frets' numbers above, for numbers and units below.
TOP, BOTTOM = 46.0, 46.0
#: Room above where the drawing's name is said outside it.
BARE_TOP = 28.0
#: Two numbers of one axis keep this apart.
_APART = 5.0


@dataclass(frozen=True, slots=True)
class Axis:
    """Values low to high drawn from start to stop."""

    low: float
    high: float
    start: float
    stop: float

    def at(self, value: float) -> float:
        share = (value - self.low) / (self.high - self.low)
        return self.start + share * (self.stop - self.start)

    def all_at(self, values: FloatArray) -> FloatArray:
        share = (values - self.low) / (self.high - self.low)
        return np.asarray(self.start + share * (self.stop - self.start))

    def clipped(self, value: float) -> float:
        """Where a value is drawn that may lie outside: at the frame's edge."""
        return self.at(min(max(value, self.low), self.high))


@dataclass(frozen=True, slots=True)
class Frame:
    """The field of a chart: x to the right, y upwards."""

    x: Axis
    y: Axis

    @property
    def right(self) -> float:
        return self.x.stop

    @property
    def base(self) -> float:
        return self.y.start

    @property
    def top(self) -> float:
        return self.y.stop


def framed(
    x: tuple[float, float],
    y: tuple[float, float],
    height: float,
    *,
    left: float = LEFT,
    right: float = WIDTH - RIGHT,
    top: float = TOP,
) -> Frame:
    """A frame as wide as the page, or between left and right; height: of its field."""
    return Frame(Axis(x[0], x[1], left, right), Axis(y[0], y[1], top + height, top))


def size_of(frame: Frame) -> tuple[float, float]:
    return WIDTH, frame.base + BOTTOM


def ticks(low: float, high: float, about: int) -> list[float]:
    """Round numbers between low and high: about so many, steps of 1, 2 or 5."""
    span = high - low
    if not span > 0:
        return [low]
    rough = span / about
    power = 10.0 ** np.floor(np.log10(rough))
    step = float(next(m for m in (1, 2, 5, 10) if m * power >= rough) * power)
    first = int(np.ceil(low / step - 1e-9))
    return [n * step for n in range(first, int(np.floor(high / step + 1e-9)) + 1)]


def x_axis(frame: Frame, unit: str) -> Html:
    """Along the foot of the field."""
    base = number(frame.base)
    values = ticks(frame.x.low, frame.x.high, 10)
    marks = "".join(f"M{number(frame.x.at(v))} {base}v4" for v in values)
    middle = 0.5 * (frame.x.start + frame.x.stop)
    return joined(
        path(f"M{number(frame.x.start)} {base}H{number(frame.right)}{marks}", "axis"),
        tag("g", *(label(f"{v:g}", frame.x.at(v), frame.base + 19.0) for v in values),
            class_="mid"),
        label(unit, middle, frame.base + 39.0, "soft mid"),
    )  # fmt: skip


def y_axis(frame: Frame, unit: str, about: int = 6) -> Html:
    """On the left, a hair across the field at each number. unit: "" where it is said elsewhere."""
    values, left = ticks(frame.y.low, frame.y.high, about), frame.x.start
    hairs = "".join(
        f"M{number(left)} {number(frame.y.at(v))}H{number(frame.right)}" for v in values
    )
    middle = 0.5 * (frame.base + frame.top)
    return joined(
        path(hairs, "hair"),
        tag("g", *(label(f"{v:g}", left - 7.0, frame.y.at(v) + 5.0) for v in values),
            class_="end"),
        label(unit, left - LEFT + 14.0, middle, "soft mid", turned=True) if unit else Html(""),
    )  # fmt: skip


def fret_axis(frame: Frame, x_mm: FloatArray, keep: Sequence[int], first: int = 1) -> Html:
    """Along the top, a mark at every fret; numbers where there is room, those in keep first.

    first: the number of the first one.
    """
    at = frame.x.all_at(x_mm)
    top = number(frame.top)
    chosen = roomy(at, keep, first)
    return joined(
        path("".join(f"M{number(float(x))} {top}v-4" for x in at), "axis"),
        label("fret", LEFT - 7.0, frame.top - 10.5, "soft end"),
        tag("g", *(label(str(i + first), float(at[i]), frame.top - 10.5) for i in chosen),
            class_="mid"),
    )  # fmt: skip


def roomy(at: FloatArray, keep: Sequence[int], first: int = 1) -> list[int]:
    """Which of the frets first, first + 1, ... at these places have room for their number: their
    indices, in order.

    keep: frets that come first.
    """
    frets = range(first, first + at.size)
    half = {n: 0.5 * text_width(str(n)) + 0.5 * _APART for n in frets}
    chosen: list[int] = []
    for n in [*keep, *(n for n in frets if n not in keep)]:
        apart = (abs(at[n - first] - at[m - first]) >= half[n] + half[m] for m in chosen)
        if all(apart):
            chosen.append(n)
    return sorted(n - first for n in chosen)


def bars(frame: Frame, rows: Iterable[tuple[float, float, float]]) -> str:
    """Path of upright bars: y give or take the third, at x; cut off at the field's edges."""
    return "".join(
        line_through((frame.x.at(x), frame.y.clipped(end)) for end in (y - half, y + half))
        for x, y, half in rows
    )


def heading(text: str) -> Html:
    """The chart's own name, at its top left."""
    return label(text, LEFT, TEXT + 3.0, "head")


def middle_x_mm(it: Instrument) -> FloatArray:
    """Frets along the centre line."""
    return it.fret_x_mm(np.arange(1.0, it.frets + 1), 0.5 * (len(it.strings) + 1))
