"""The board seen from above as a map of cells: frets across, strings down, a number in each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray
from daq.figures.html import Html, joined, tag
from daq.figures.palette import LEVELS
from daq.figures.svg import box, drawing, label, path, text_width

CELL_W, LEFT = 36.0, 66.0
_CELL_H, _HEAD = 26.0, 20.0
#: More frets than this go on another row: narrower cells could not be read.
WIDEST = 24
#: Space under a row of cells, beside an entry of the legend, and under it.
_GAP, _SWATCH, _FOOT = 14.0, 14.0, 8.0


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell. kind: its ground, a style class. words: told on pointing at it, if not empty."""

    text: str
    kind: str
    words: str = ""


@dataclass(frozen=True, slots=True)
class Grid:
    """Where the cells of a map lie. columns: how many stand side by side."""

    count: int
    strings: int
    cell_h: float

    @property
    def columns(self) -> int:
        rows = -(-self.count // WIDEST)
        return -(-self.count // max(rows, 1))

    @property
    def width(self) -> float:
        return max(LEFT + self.columns * CELL_W + 4.0, 860.0)

    @property
    def bottom(self) -> float:
        return -(-self.count // max(self.columns, 1)) * self._row_h

    @property
    def _row_h(self) -> float:
        return _HEAD + self.strings * self.cell_h + _GAP

    def at(self, column: int, string: int) -> tuple[float, float]:
        """The cell's upper left corner; string -1 is the line of headings."""
        row, place = divmod(column, self.columns)
        top = row * self._row_h + (_HEAD + string * self.cell_h if string >= 0 else 0.0)
        return LEFT + place * CELL_W, top


def frame_of(grid: Grid, names: Sequence[str], corner: str) -> Html:
    """The names of columns and strings."""
    heads, sides = [], []
    for i, name in enumerate(names):
        x, y = grid.at(i, -1)
        heads.append(label(name, x + 0.5 * CELL_W, y + 14.0))
        if i % grid.columns == 0:
            heads.append(label(corner, LEFT - 8.0, y + 14.0, "soft end"))
            for s in range(grid.strings):
                down = grid.at(i, s)[1] + 0.5 * grid.cell_h + 4.0
                sides.append(label(f"string {s + 1}", LEFT - 8.0, down))
    return joined(tag("g", *heads, class_="mid"), tag("g", *sides, class_="soft end"))


def cell_map(
    title: str,
    words: str,
    names: Sequence[str],
    cells: Sequence[Sequence[Cell]],
    legend: Sequence[Cell],
    corner: str = "fret",
) -> Html:
    """cells: [strings][columns], string 1 on top, the nut on the left."""
    grid = Grid(len(names), len(cells), _CELL_H)
    placed = [(cell, *grid.at(i, s)) for s, line in enumerate(cells) for i, cell in enumerate(line)]
    foot, bottom = legend_rows(legend, grid.width, grid.bottom)
    return drawing(
        title,
        words,
        (grid.width, bottom),
        frame_of(grid, names, corner),
        tag("g", *_drawn(placed), class_="mid"),
        foot,
    )


def legend_rows(entries: Sequence[Cell], width: float, top: float) -> tuple[Html, float]:
    """Swatches with their words, in as many rows as they need; and where they end."""
    parts, x, y = [], LEFT, top
    for entry in entries:
        room = _SWATCH + 5.0 + text_width(entry.text) + 14.0
        if x > LEFT and x + room > width:
            x, y = LEFT, y + 20.0
        parts.append(path(box(x, y, _SWATCH, _SWATCH), entry.kind))
        parts.append(label(entry.text, x + _SWATCH + 5.0, y + 11.0, "soft"))
        x += room
    return joined(*parts), y + _SWATCH + _FOOT


def scaled_cells(values: FloatArray, digits: int, unit: str) -> tuple[list[list[Cell]], list[Cell]]:
    """Cells [strings][frets] and their legend from [frets, strings]: darker on paper is more.

    NaN is an empty, dashed cell. The steps of the scale are equal.
    """
    known = values[np.isfinite(values)]
    low = float(known.min()) if known.size else 0.0
    high = float(known.max()) if known.size else 0.0
    step = (high - low) / LEVELS
    frets, strings = values.shape

    def cell(f: int, s: int) -> Cell:
        value = float(values[f, s])
        if not np.isfinite(value):
            return Cell("–", "none")
        level = min(int((value - low) / step), LEVELS - 1) if step > 0 else 0
        return Cell(f"{value:.{digits}f}", f"q{level}")

    cells = [[cell(f, s) for f in range(frets)] for s in range(strings)]
    if step <= 0:
        return cells, [Cell(f"{low:.{digits}f} {unit}", "q0")]
    edges = [low + n * step for n in range(LEVELS + 1)]
    more = digits if step >= 10.0**-digits else digits + 1
    return cells, [
        Cell(f"{edges[n]:.{more}f} to {edges[n + 1]:.{more}f} {unit}", f"q{n}")
        for n in range(LEVELS)
    ]


def _drawn(placed: Sequence[tuple[Cell, float, float]]) -> list[Html]:
    """A group for each cell that has words, and one for all others of a kind."""
    told = [
        tag("g", tag("title", cell.words), path(_box(x, y)), _text(cell, x, y), class_=cell.kind)
        for cell, x, y in placed
        if cell.words
    ]
    plain = [one for one in placed if not one[0].words]
    for kind in dict.fromkeys(cell.kind for cell, _, _ in plain):
        same = [one for one in plain if one[0].kind == kind]
        boxes = path("".join(_box(x, y) for _, x, y in same))
        told.append(tag("g", boxes, *(_text(*one) for one in same), class_=kind))
    return told


def _box(x: float, y: float) -> str:
    return box(x + 1.0, y + 1.0, CELL_W - 2.0, _CELL_H - 2.0)


def _text(cell: Cell, x: float, y: float) -> Html:
    return label(cell.text, x + 0.5 * CELL_W, y + 17.0) if cell.text else Html("")
