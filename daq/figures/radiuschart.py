"""The radius of each fret's tops over the board's own line and the one in the file."""

from __future__ import annotations

import numpy as np

from analysis.board.arc import FLAT_MM
from analysis.form.across import Across
from analysis.instrument import FloatArray, Instrument
from daq.figures.axes import (
    Frame,
    bars,
    framed,
    fret_axis,
    heading,
    middle_x_mm,
    size_of,
    x_axis,
    y_axis,
)
from daq.figures.html import Html, joined
from daq.figures.notes import Box, Note, written
from daq.figures.svg import drawing, line_through, number, path
from daq.text.words import fixed

_HEIGHT = 170.0
#: Radii past this share of the board's are drawn at the edge: a nearly flat fret has no end.
_WIDEST = 1.6
#: Flatter than this a board is called flat.
_FLAT_MM = 0.1 * FLAT_MM


def radius_chart(across: Across, it: Instrument) -> Html:
    """Circles through each fret's tops with bars, over the board's own line and the file's."""
    x = middle_x_mm(it)
    radius, u = across.radius_mm, across.u_radius_mm
    frame = framed((0.0, float(x[-1]) * 1.025), _reach(across, it), _HEIGHT)
    board, file = across.board_radius_mm, it.board_radius_mm
    ends = (0.0, float(x[-1]))
    area = Box(frame.x.start, frame.top + 1.0, frame.right, frame.base - 1.0)
    notes = [
        Note(f"board, measured: {_pair(board)}", frame.x.at(0.3 * x[-1]), _on(frame, board, 0.3),
             "say-board"),
        Note(f"file: {_pair(file)}", frame.x.at(0.7 * x[-1]), _on(frame, file, 0.7)),
    ]  # fmt: skip
    ink = np.concatenate([_ink(frame, radius, x), _line_ink(frame, board), _line_ink(frame, file)])
    return drawing(
        "Radius of each fret",
        f"Radius in mm against the distance from the nut in mm. The board, from nut to last "
        f"fret: {_pair(board)}; the file says {_pair(file)}.",
        size_of(frame),
        y_axis(frame, "radius, mm"),
        x_axis(frame, "from the nut, mm"),
        fret_axis(frame, x, [1, it.frets]),
        heading("radius of each fret's tops"),
        _board_band(frame, across, ends),
        path(_line(frame, board, ends), "line-board"),
        path(_line(frame, file, ends), "carried"),
        _dots(frame, x, radius, u),
        written(notes, area, ink),
    )


def _reach(across: Across, it: Instrument) -> tuple[float, float]:
    """Every radius that is not next to flat, the board's and the file's."""
    lines = np.array([*across.board_radius_mm, *it.board_radius_mm])
    lines = lines[lines < _FLAT_MM]
    most = _WIDEST * float(lines.max()) if lines.size else np.inf
    ends = np.concatenate([across.radius_mm - 2.0 * across.u_radius_mm,
                           across.radius_mm + 2.0 * across.u_radius_mm, lines])  # fmt: skip
    ends = np.clip(ends[np.isfinite(ends)], 0.0, most)
    if not ends.size:
        return 0.0, 100.0
    air = 0.1 * float(np.ptp(ends)) + 5.0
    return max(float(ends.min()) - air, 0.0), float(ends.max()) + air


def _dots(frame: Frame, x_mm: FloatArray, radius: FloatArray, u: FloatArray) -> Html:
    rows = zip(x_mm.tolist(), radius.tolist(), np.nan_to_num(u).tolist(), strict=True)
    known = [(x, r, 2.0 * b) for x, r, b in rows if not np.isnan(r)]
    seen = [row for row in known if np.isfinite(row[1] + row[2])]
    inside = [(x, r) for x, r, _ in known if r <= frame.y.high]
    outside = [x for x, r, _ in known if r > frame.y.high]
    dots = "".join(f"M{number(frame.x.at(x))} {number(frame.y.clipped(r))}h0" for x, r in inside)
    # flatter than the drawing reaches: an arrow head at its upper edge
    heads = "".join(_head(frame.x.at(x), frame.top) for x in outside)
    return joined(path(bars(frame, seen), "bar-fret"), path(dots, "dot-fret"), path(heads, "sign"))


def _head(x: float, top: float) -> str:
    return line_through([(x - 4.0, top + 9.0), (x + 4.0, top + 9.0), (x, top + 1.0)], closed=True)


def _line(frame: Frame, ends_mm: tuple[float, float], x: tuple[float, float]) -> str:
    if not np.max(ends_mm) < _FLAT_MM:
        return ""
    return line_through(
        (frame.x.at(at), frame.y.clipped(r)) for at, r in zip(x, ends_mm, strict=True)
    )


def _board_band(frame: Frame, across: Across, x: tuple[float, float]) -> Html:
    radius, u = np.array(across.board_radius_mm), np.array(across.u_board_radius_mm)
    if not (np.max(radius) < _FLAT_MM and np.isfinite(u).all()):
        return Html("")
    low, high = radius - 2.0 * u, radius + 2.0 * u
    around = [(x[0], low[0]), (x[1], low[1]), (x[1], high[1]), (x[0], high[0])]
    corners = [(frame.x.at(at), frame.y.clipped(float(r))) for at, r in around]
    return path(line_through(corners, closed=True), "band-board")


def _on(frame: Frame, ends_mm: tuple[float, float], share: float) -> float:
    value = ends_mm[0] + share * (ends_mm[1] - ends_mm[0])
    return frame.y.clipped(value) if np.isfinite(value) else frame.top


def _ink(frame: Frame, radius: FloatArray, x_mm: FloatArray) -> FloatArray:
    known = np.isfinite(radius)
    y = frame.y.all_at(np.minimum(radius[known], frame.y.high))
    return np.column_stack([frame.x.all_at(x_mm[known]), y])


def _line_ink(frame: Frame, ends_mm: tuple[float, float]) -> FloatArray:
    share = np.linspace(0.0, 1.0, 200)
    x = frame.x.start + share * (frame.right - frame.x.start)
    y = [_on(frame, ends_mm, float(s)) for s in share]
    return np.column_stack([x, np.array(y)])


def _pair(ends_mm: tuple[float, float]) -> str:
    """241 to 355 mm; flat to 355 mm; flat; not known."""
    if np.isnan(ends_mm).any():
        return "not known"
    nut, last = (fixed(radius, 0) if radius < _FLAT_MM else "flat" for radius in ends_mm)
    return nut if nut == last == "flat" else f"{nut} to {last} mm"
