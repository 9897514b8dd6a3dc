"""Where words find room beside what they name, clear of one another and off the curves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray
from daq.figures.html import Html, joined
from daq.figures.svg import TEXT, label, number, path, text_width

#: Clear space kept around a line of text.
_MARGIN = 2.0
#: From this far off a thin line leads back to what is named.
_LEADER = 22.0
#: How far below its place the foot of a note is tried, the nearest first.
_DOWN = (-8.0, 21.0, -23.0, 36.0, -39.0, 52.0, -56.0, 70.0, -76.0, 90.0, -98.0, 112.0, -120.0,
         134.0, -142.0, 156.0, -164.0, 178.0)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Box:
    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Box) -> bool:
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def holds(self, points: FloatArray) -> int:
        """How many of the points [n, 2] lie inside."""
        x, y = points[:, 0], points[:, 1]
        inside = (x > self.left) & (x < self.right) & (y > self.top) & (y < self.bottom)
        return int(np.count_nonzero(inside))


@dataclass(frozen=True, slots=True)
class Note:
    """Words about the place x, y of a drawing.

    led: a thin line leads there from far off. worth: what it may cost, in units of the drawing,
    to put them there: further off, or through more curves, they are better left out.
    """

    text: str
    x: float
    y: float
    kind: str = "soft"
    led: bool = True
    worth: float = np.inf


def text_box(text: str, middle: float, foot: float) -> Box:
    half = 0.5 * text_width(text) + _MARGIN
    return Box(middle - half, foot - 0.8 * TEXT - _MARGIN, middle + half, foot + 3.0 + _MARGIN)


def written(notes: Sequence[Note], area: Box, ink: FloatArray) -> Html:
    """The notes, first come first served, each as near its place as there is room.

    ink: points [n, 2] along curves that words should stay off. A note that would lie on
    another, or outside the area, is left out.
    """
    taken: list[Box] = []
    parts = []
    for note in notes:
        spot = _spot(note, area, taken, ink)
        if spot is None:
            continue
        middle, foot = spot
        taken.append(text_box(note.text, middle, foot))
        parts.append(_leader(note, middle, foot))
        parts.append(label(note.text, middle, foot, f"mid halo {note.kind}"))
    return joined(*parts)


def _spot(
    note: Note, area: Box, taken: Sequence[Box], ink: FloatArray
) -> tuple[float, float] | None:
    half = 0.5 * text_width(note.text) + _MARGIN
    best, least = None, note.worth
    for down in _DOWN:
        for aside in (0.0, 40.0, -40.0, 80.0, -80.0, 130.0, -130.0, 190.0, -190.0):
            middle = min(max(note.x + aside, area.left + half), area.right - half)
            box = text_box(note.text, middle, note.y + down)
            if box.top < area.top or box.bottom > area.bottom:
                continue
            if any(box.meets(other) for other in taken):
                continue
            # a word through a curve is worse than one a little further off
            cost = 25.0 * box.holds(ink) + abs(down) + 0.5 * abs(middle - note.x)
            if cost < least:
                best, least = (middle, note.y + down), cost
    return best


def _leader(note: Note, middle: float, foot: float) -> Html:
    near = foot + 3.0 if foot < note.y else foot - 0.8 * TEXT
    if not note.led or np.hypot(note.x - middle, note.y - near) < _LEADER:
        return Html("")
    start = f"M{number(note.x)} {number(note.y)}"
    return path(f"{start}L{number(middle)} {number(near)}", "leader")
