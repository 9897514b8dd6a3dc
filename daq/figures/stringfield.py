"""A string from nut to saddle over its frets: how it lies, open and held."""

from __future__ import annotations

import numpy as np

from analysis.instrument import FloatArray
from daq.figures.axes import Frame, framed, fret_axis, y_axis
from daq.figures.clip import Point
from daq.figures.html import Html, joined
from daq.figures.sidelines import SideLines
from daq.figures.svg import TEXT, box, label, line_through, number, path

_HEIGHT = 48.0
#: A string is drawn as if it rose this high at least, mm.
_LEAST_MM = 0.5
#: The open string is named this far along it.
_NAMED = 0.3


def string_frame(lines: SideLines, top: float) -> Frame:
    """Both states fit; the frets stand on its foot."""
    section = lines.section
    high = float(np.nanmax([*lines.now[1], *lines.then[1], _LEAST_MM]))
    low = float(np.nanmin([*lines.top_mm, *lines.after_mm, 0.0]))
    room = 0.12 * (high - low)
    reach = (section.nut_x_mm - 8.0, section.saddle_x_mm + 8.0)
    return framed(reach, (low - 2.0 * room, high + room), _HEIGHT, top=top)


def string_field(frame: Frame, lines: SideLines, joint: int, window: tuple[int, int]) -> Html:
    """window: the frets that are drawn larger elsewhere, shaded unless they are all."""
    x = lines.section.x_mm
    frets = x.size
    shaded = window != (1, frets)
    return joined(
        _window(frame, x, window) if shaded else Html(""),
        y_axis(frame, "mm", 3),
        fret_axis(frame, x, [1, joint, frets]),
        path(_swing(frame, lines), "swing"),
        path(_posts(frame, x, lines.top_mm), "post"),
        path(_line(frame, lines.now), "open-was") if lines.changed else Html(""),
        path(_line(frame, lines.then if lines.changed else lines.now), "open"),
        path(_ends(frame, lines), "nut"),
        path(_held(frame, lines), "string"),
        _said(frame, lines),
    )


def _points(frame: Frame, x: FloatArray, z: FloatArray) -> list[Point]:
    seen = np.isfinite(z)
    at = frame.x.all_at(x[seen]).tolist(), frame.y.all_at(z[seen]).tolist()
    return list(zip(*at, strict=True))


def _line(frame: Frame, ends: tuple[FloatArray, FloatArray]) -> str:
    return line_through(_points(frame, *ends))


def _window(frame: Frame, x: FloatArray, window: tuple[int, int]) -> Html:
    left, right = (frame.x.at(float(x[n - 1])) for n in window)
    return path(box(left - 4.0, frame.top, right - left + 8.0, frame.base - frame.top), "past")


def _posts(frame: Frame, x: FloatArray, top: FloatArray) -> str:
    base = number(frame.base)
    return "".join(f"M{number(at)} {base}V{number(z)}" for at, z in _points(frame, x, top))


def _ends(frame: Frame, lines: SideLines) -> str:
    """Nut and saddle, as high as they are once the plan is done."""
    ends = lines.then if lines.changed else lines.now
    base = number(frame.base)
    return "".join(f"M{number(x)} {base}V{number(z)}" for x, z in _points(frame, *ends))


def _swing(frame: Frame, lines: SideLines) -> str:
    one = lines.swing
    if one is None:
        return ""
    around = _points(frame, one.x_mm, one.rest_mm) + _points(frame, one.x_mm, one.low_mm)[::-1]
    return line_through(around, closed=True)


def _held(frame: Frame, lines: SideLines) -> str:
    """From the finger to the saddle."""
    one, ends = lines.swing, lines.then if lines.changed else lines.now
    if one is None:
        return ""
    x, z = np.array([one.x_mm[0], ends[0][1]]), np.array([one.rest_mm[0], ends[1][1]])
    return line_through(_points(frame, x, z))


def _said(frame: Frame, lines: SideLines) -> Html:
    """The open string by its name, over both of its lines; its far end."""
    z = max((1.0 - _NAMED) * ends[1][0] + _NAMED * ends[1][1] for ends in (lines.now, lines.then))
    x = (1.0 - _NAMED) * lines.now[0][0] + _NAMED * lines.now[0][1]
    y = max(frame.y.at(float(z)) - 6.0, frame.top + TEXT)
    named = label("open string", frame.x.at(float(x)), y, "soft mid halo")
    return joined(
        named if np.isfinite(z) else Html(""),
        label("saddle", frame.right, frame.top - 10.5, "soft end"),
    )
