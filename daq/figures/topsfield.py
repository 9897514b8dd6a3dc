"""The tops under one string, drawn much larger: with their doubt, what comes off, what swings."""

from __future__ import annotations

import numpy as np

from analysis.instrument import FloatArray
from daq.figures.axes import Frame, bars, framed, fret_axis, y_axis
from daq.figures.clip import Point, area_within, line_within
from daq.figures.html import Html, joined, tag
from daq.figures.sidelines import SideLines
from daq.figures.svg import TEXT, box, label, line_through, number, path, text_width

_HEIGHT = 94.0
#: Nothing is drawn larger than so many µm deserve, from foot to top.
_LEAST_UM = 40.0
#: One fret alone has as much room as if its neighbours were this far off, mm.
_LEAST_GAP_MM = 8.0
#: Room over the highest top, for the string to be seen coming down to it, and under the lowest.
_OVER, _UNDER = 0.22, 0.1
#: Half a filed-off piece's width at most, and as a share of the gap between two frets.
_HALF, _SHARE = 5.0, 0.3
#: A dot this near takes the place of a number; a cut from this on has one.
_NEAR_DOT, _TOLD_UM = 8.0, 0.5


def tops_frame(lines: SideLines, window: tuple[int, int], top: float) -> Frame:
    """The frets of the window, half a gap around them; µm over the base."""
    x = lines.section.x_mm
    inside = slice(window[0] - 1, window[1])
    band = 2.0 * lines.section.u_top_mm
    rows = [lines.top_mm - band, lines.top_mm + band, lines.after_mm, lines.after_mm
            + lines.section.cut_mm, lines.shape_mm]  # fmt: skip
    known = 1e3 * np.concatenate([row[inside] for row in rows])
    known = known[np.isfinite(known)]
    low, high = (float(known.min()), float(known.max())) if known.size else (0.0, 0.0)
    span = max(high - low, _LEAST_UM)
    first, last = float(x[window[0] - 1]), float(x[window[1] - 1])
    gap = max((last - first) / max(window[1] - window[0], 1), _LEAST_GAP_MM)
    reach = (first - 0.6 * gap, last + 0.6 * gap)
    return framed(reach, (low - _UNDER * span, high + _OVER * span), _HEIGHT, top=top)


def tops_field(frame: Frame, lines: SideLines, joint: int, window: tuple[int, int]) -> Html:
    """µm over the base, in a frame as `tops_frame` gives it."""
    section = lines.section
    inside = np.arange(window[0] - 1, window[1])
    x = section.x_mm[inside]
    now, after = 1e3 * lines.top_mm[inside], 1e3 * lines.after_mm[inside]
    cut = 1e3 * section.cut_mm[inside]
    rows = zip(x.tolist(), now.tolist(), (2e3 * section.u_top_mm[inside]).tolist(), strict=True)
    known = [row for row in rows if np.isfinite(row[1])]
    return joined(
        y_axis(frame, "µm", 5),
        _numbers(frame, x, window, joint),
        *_string(frame, lines),
        path(_level(frame), "carried"),
        path(_through(frame, x, now), "line-now"),
        path(_through(frame, x, after), "line-after") if lines.changed else Html(""),
        _shape(frame, lines),
        path(bars(frame, known), "bar-now"),
        path(_removed(frame, x, after, cut), "removed"),
        path(_dots(frame, x, now), "dot-now"),
        path(_dots(frame, x, now), "hole"),
        path(_dots(frame, x, after), "dot-after") if lines.changed else Html(""),
        path(f"M{number(frame.x.start)} {number(frame.base)}H{number(frame.right)}", "axis"),
        _amounts(frame, x, now, after, cut),
    )


def _numbers(frame: Frame, x: FloatArray, window: tuple[int, int], joint: int) -> Html:
    keep = [n for n in (window[0], joint, window[1]) if window[0] <= n <= window[1]]
    return fret_axis(frame, x, keep, first=window[0])


def _level(frame: Frame) -> str:
    """The line that heights are measured from, where it is in the field."""
    if not frame.y.low < 0.0 < frame.y.high:
        return ""
    return f"M{number(frame.x.start)} {number(frame.y.at(0.0))}H{number(frame.right)}"


def _points(frame: Frame, x: FloatArray, y: FloatArray) -> list[Point]:
    seen = np.isfinite(y)
    at = frame.x.all_at(x[seen]).tolist(), frame.y.all_at(y[seen]).tolist()
    return list(zip(*at, strict=True))


def _through(frame: Frame, x: FloatArray, y: FloatArray) -> str:
    return line_through(_points(frame, x, y))


def _dots(frame: Frame, x: FloatArray, y: FloatArray) -> str:
    return "".join(f"M{number(a)} {number(b)}h0" for a, b in _points(frame, x, y))


def _half(frame: Frame, x: FloatArray) -> FloatArray:
    """Half the width of what is drawn on each fret: neighbours stay apart."""
    if x.size < 2:
        return np.full_like(x, _HALF)
    gap = np.diff(frame.x.all_at(x))
    near = np.minimum(np.append(gap, gap[-1]), np.insert(gap, 0, gap[0]))
    return np.asarray(np.minimum(_SHARE * near, _HALF))


def _removed(frame: Frame, x: FloatArray, after: FloatArray, cut: FloatArray) -> str:
    """What comes off, standing on what stays, as high as the heights are drawn."""
    out = []
    for at, half, low, high in zip(frame.x.all_at(x), _half(frame, x), frame.y.all_at(after),
                                   frame.y.all_at(after + cut), strict=True):  # fmt: skip
        if np.isfinite(low) and high < low:
            out.append(box(at - half, high, 2.0 * half, low - high))
    return "".join(out)


def _amounts(
    frame: Frame, x: FloatArray, now: FloatArray, after: FloatArray, cut: FloatArray
) -> Html:
    """How much comes off, over each piece that has room for its number."""
    told, right = [], frame.x.start
    rows = (frame.x.all_at(x), frame.y.all_at(after + cut), frame.y.all_at(now), cut)
    for at, y, dot, amount in np.column_stack(rows).tolist():
        # the dot of now may lie on the piece's upper edge
        foot = y - (9.0 if abs(dot - y) < _NEAR_DOT else 4.0)
        text = f"{amount:.0f}"
        half = 0.5 * text_width(text)
        if amount >= _TOLD_UM and at - half > right and foot > frame.top + TEXT:
            told.append(label(text, at, foot, "halo"))
            right = at + half + 2.0
    return tag("g", *told, class_="mid") if told else Html("")


def _shape(frame: Frame, lines: SideLines) -> Html:
    """The asked-for shape, its two anchors as lozenges."""
    seen = np.flatnonzero(np.isfinite(lines.shape_mm))
    if seen.size < 2:
        return Html("")
    x, y = lines.section.x_mm[seen], 1e3 * lines.shape_mm[seen]
    pieces = line_within(_points(frame, x, y), frame)
    ends = [end for end in _points(frame, x[[0, -1]], y[[0, -1]]) if _holds(frame, end)]
    return joined(
        path("".join(line_through(piece) for piece in pieces), "asked"),
        path("".join(lozenge(a, b, 6.0) for a, b in ends), "anchor"),
    )


def _holds(frame: Frame, point: Point) -> bool:
    return frame.x.start <= point[0] <= frame.right and frame.top <= point[1] <= frame.base


def lozenge(x: float, y: float, half: float) -> str:
    return line_through([(x - half, y), (x, y - half), (x + half, y), (x, y + half)], closed=True)


def _string(frame: Frame, lines: SideLines) -> list[Html]:
    """The string, what it sweeps, the guard under that; cut off at the field's edges."""
    one = lines.swing
    if one is None:
        return []
    rest, low, guard = (
        _points(frame, one.x_mm, 1e3 * height) for height in (one.rest_mm, one.low_mm, one.guard_mm)
    )
    bands = [(rest + low[::-1], "swing"), (low + guard[::-1], "guard")]
    drawn = [path(line_through(area_within(p, frame), closed=True), kind) for p, kind in bands]
    pieces = line_within(rest, frame)
    return [*drawn, path("".join(line_through(piece) for piece in pieces), "string")]
