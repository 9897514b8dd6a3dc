"""Wear, fret by fret and string by string: a sign for each verdict, flats in scale, dents."""

from __future__ import annotations

from typing import Final

import numpy as np

from analysis.wear.wear import Wear
from daq.figures.boardmap import CELL_W, LEFT, Grid, frame_of
from daq.figures.html import Html, joined, tag
from daq.figures.svg import box, drawing, label, number, path, text_width

_CELL_H = 40.0
#: A flat this wide fills its cell, mm; wider ones are drawn as wide as this.
FULL_MM: Final = 1.2
_PX_PER_MM: Final = (CELL_W - 6.0) / FULL_MM
_BAR: Final = 4.0

#: Each verdict: its ground, its words; the sign is a crown seen from the side.
VERDICTS: Final[dict[str, tuple[str, str]]] = {
    "round": ("round", "round"),
    "leave": ("leave", "a small flat: leave"),
    "crown": ("crown", "flat: crown again"),
    "dented": ("dented", "dented under the string"),
    "worn out": ("worn-out", "worn out"),
    "not known": ("none", "not known"),
}


def wear_map(title: str, words: str, wear: Wear) -> Html:
    """A cell each: the crown's sign, how deep a dent is in µm, the flat's width as a bar."""
    frets, strings = wear.verdict.shape
    grid = Grid(frets, strings, _CELL_H)
    legend, bottom = _legend(grid)
    return drawing(
        title,
        words,
        (grid.width, bottom),
        frame_of(grid, [str(f + 1) for f in range(frets)], "fret"),
        tag("g", *(_cells(wear, grid, verdict) for verdict in VERDICTS), class_="mid"),
        legend,
    )


def sign(verdict: str, x: float, y: float) -> str:
    """Path of the crown's section, 18 wide, its foot's middle at x, y."""
    foot = f"M{number(x - 9.0)} {number(y)}"
    crossed = f"v-3h18v3M{number(x - 5.0)} {number(y - 9.0)}l10 5m-10 0l10-5"
    shapes = {
        "round": "a9 9 0 0 1 18 0",
        "leave": "q1-6 6.5-7.5h5q5.5 1.5 6.5 7.5",
        "crown": "q0-4 3-5.5h12q3 1.5 3 5.5",
        "dented": "q1-8 6-9q3 5.5 6 0q5 1 6 9",
        "worn out": crossed,
    }
    return foot + shapes[verdict] if verdict in shapes else ""


def _cells(wear: Wear, grid: Grid, verdict: str) -> Html:
    """All cells of one verdict."""
    where = [(int(f), int(s)) for f, s in np.argwhere(wear.verdict == verdict)]
    if not where:
        return Html("")
    ground, _ = VERDICTS[verdict]
    corners = [grid.at(f, s) for f, s in where]
    boxes = (box(x + 1.0, y + 1.0, CELL_W - 2.0, _CELL_H - 2.0) for x, y in corners)
    signs = (sign(verdict, x + 0.5 * CELL_W, y + 15.0) for x, y in corners)
    dents = (
        label(_dent(wear, at, verdict), x + 0.5 * CELL_W, y + 27.5)
        for at, (x, y) in zip(where, corners, strict=True)
        if _dent(wear, at, verdict)
    )
    bars = (
        _bar(float(wear.flat_mm[at]), x + 0.5 * CELL_W, y + _CELL_H - 4.0 - _BAR)
        for at, (x, y) in zip(where, corners, strict=True)
    )
    return tag(
        "g",
        path("".join(boxes)),
        path("".join(signs), f"sketch on-{ground}"),
        path("".join(bars), f"on-{ground}"),
        *dents,
        class_=ground,
    )


def _dent(wear: Wear, at: tuple[int, int], verdict: str) -> str:
    """Its depth where one can be told from none, in µm."""
    if verdict == "not known":
        return "?"
    dent, band = float(wear.dent_mm[at]), 2.0 * float(wear.u_dent_mm[at])
    return f"{1e3 * dent:.0f}" if np.isfinite(dent) and dent > band else ""


def _bar(flat_mm: float, middle: float, y: float) -> str:
    """The flat's width in scale."""
    if not (np.isfinite(flat_mm) and flat_mm > 0):
        return ""
    width = min(flat_mm, FULL_MM) * _PX_PER_MM
    return box(middle - 0.5 * width, y, width, _BAR)


def _legend(grid: Grid) -> tuple[Html, float]:
    """The signs with their words, then the scale of the bars."""
    parts, x, y = [], LEFT, grid.bottom
    for verdict, (ground, words) in VERDICTS.items():
        room = 31.0 + text_width(words) + 14.0
        if x > LEFT and x + room > grid.width:
            x, y = LEFT, y + 26.0
        parts.append(path(box(x, y, 26.0, 20.0), ground))
        drawn = sign(verdict, x + 13.0, y + 15.0)
        parts.append(path(drawn, f"sketch on-{ground}"))
        parts.append(label(words, x + 31.0, y + 14.0, "soft"))
        x += room
    y += 34.0
    half = 0.5 * _PX_PER_MM
    parts.append(path(box(LEFT, y, half, _BAR), "sign"))
    said = "= a flat 0.5 mm wide along the string, in scale. The number: depth of a dent, µm."
    parts.append(label(said, LEFT + 31.0, y + 7.0, "soft"))
    return joined(*parts), y + 20.0
