"""Lines and areas cut off where a chart's field ends, along the edge and not before it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from daq.figures.axes import Frame

Point = tuple[float, float]


def line_within(points: Sequence[Point], frame: Frame) -> list[list[Point]]:
    """The pieces of a line inside the field, all in the drawing's units."""
    pieces: list[list[Point]] = []
    for a, b in pairwise(points):
        shares = _inside(a, b, frame)
        if shares is None:
            continue
        start, end = (_between(a, b, share) for share in shares)
        if pieces and pieces[-1][-1] == start:
            pieces[-1].append(end)
        else:
            pieces.append([start, end])
    return pieces


def area_within(points: Sequence[Point], frame: Frame) -> list[Point]:
    """A closed outline with what lies outside the field cut away (one edge after another)."""
    out = list(points)
    for axis, limit, way in _edges(frame):
        kept: list[Point] = []
        for a, b in zip(out[-1:] + out[:-1], out, strict=True):
            over_a, over_b = way * (a[axis] - limit), way * (b[axis] - limit)
            if (over_a > 0.0) != (over_b > 0.0):
                kept.append(_between(a, b, over_a / (over_a - over_b)))
            if over_b <= 0.0:
                kept.append(b)
        out = kept
    return out


def _edges(frame: Frame) -> list[tuple[int, float, float]]:
    """(axis, limit, which way is outside); a drawing's y runs down."""
    return [
        (0, frame.x.start, -1.0),
        (0, frame.right, 1.0),
        (1, frame.top, -1.0),
        (1, frame.base, 1.0),
    ]


def _inside(a: Point, b: Point, frame: Frame) -> tuple[float, float] | None:
    """From which to which share of the way from a to b the field reaches."""
    first, last = 0.0, 1.0
    for axis, limit, way in _edges(frame):
        over_a, over_b = way * (a[axis] - limit), way * (b[axis] - limit)
        if over_a > 0.0 and over_b > 0.0:
            return None
        if over_a > 0.0:
            first = max(first, over_a / (over_a - over_b))
        elif over_b > 0.0:
            last = min(last, over_a / (over_a - over_b))
    return (first, last) if first < last else None


def _between(a: Point, b: Point, share: float) -> Point:
    if share in (0.0, 1.0):
        return b if share else a
    return a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])
