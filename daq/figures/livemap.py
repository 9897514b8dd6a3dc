"""A map of the board for the page: each cell can be pointed at, focused and chosen."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from html import escape

from daq.figures.boardmap import (
    CELL_H,
    CELL_W,
    CORNER,
    HATCH,
    LEFT,
    NUMBER,
    Cell,
    Grid,
    corner_name,
    ground,
    legend_rows,
    side_name,
)
from daq.figures.html import Html, tag
from daq.figures.layers import Layer
from daq.figures.svg import box, drawing, number, path


@dataclass(frozen=True, slots=True)
class _Place:
    """A cell's pieces that are the same whatever it shows."""

    start: str
    ground: str
    text: str
    corner: str


def live_map(layer: Layer, string: int, fretted: int | None) -> Html:
    """The chosen string's row is framed; so is its cell at the fretted position, where given."""
    grid = Grid(len(layer.names), len(layer.cells))
    foot, bottom = legend_rows(layer.legend, grid.width, grid.bottom, LEFT)
    bands = [_band(grid, layer, columns, string) for columns in grid.rows()]
    sides = (side_name(grid, columns[0]) for columns in grid.rows())
    table = tag("g", *bands, class_="cells", role="grid", aria_label=layer.title)
    return drawing(
        layer.title,
        layer.words,
        (grid.width, bottom),
        table,
        *sides,
        path(_chosen(grid, string), "chosen-row"),
        path(_held_at(grid, layer, string, fretted), "chosen-cell"),
        foot,
        live=True,
    )


def _band(grid: Grid, layer: Layer, columns: range, string: int) -> Html:
    """Frets that stand side by side, their names over them, a row for each string."""
    places = _places(grid.count, grid.strings)
    rows = [_heads(grid, layer, columns)]
    for s, cells in enumerate(layer.cells):
        chosen = s + 1 == string
        drawn = (_cell(cells[i], places[s][i], layer.first + i, s + 1) for i in columns)
        selected = "true" if chosen else "false"
        side = _side(grid, columns[0], s, chosen)
        rows.append(
            f'<g role="row" class="mid" aria-selected="{selected}">{side}{"".join(drawn)}</g>'
        )
    return Html("".join(rows))


def _heads(grid: Grid, layer: Layer, columns: range) -> str:
    heads = []
    for i in columns:
        x, y = grid.at(i, -1)
        place = f'x="{number(x + 0.5 * CELL_W)}" y="{number(y + 18.0)}"'
        heads.append(f'<text role="columnheader" {place}>{escape(layer.names[i])}</text>')
    corner = corner_name(grid, columns[0], layer.corner)
    return f'<g role="row" class="mid">{corner}{"".join(heads)}</g>'


def _side(grid: Grid, column: int, s: int, chosen: bool) -> str:
    """The string's number; an arrow and bold where it is the chosen one."""
    y = number(grid.at(column, s)[1] + 0.5 * CELL_H + 5.0)
    name = f"▸ {s + 1}" if chosen else f"{s + 1}"
    kind = "end head" if chosen else "end soft"
    return f'<text role="rowheader" class="{kind}" x="{number(LEFT - 6.0)}" y="{y}">{name}</text>'


def _cell(cell: Cell, place: _Place, fret: int, string: int) -> str:
    where = f"fret {fret}" if fret else "open"
    back = ", held back" if cell.held else ""
    said = escape(f"{where}, string {string}: {cell.words}{back}")
    kind = cell.kind
    parts = [
        f'<g class="cell {kind}" role="gridcell" data-fret="{fret}" data-string="{string}" '
        f'aria-label="{said}"><title>{said}</title><path d="{place.ground}"/>'
    ]
    if cell.held:
        parts.append(f'<path class="hatch on-{kind}" d="{place.start}{HATCH}"/>')
    if cell.sketch:
        parts.append(f'<path class="sketch on-{kind}" d="{place.start}{cell.sketch}"/>')
    if cell.solid:
        parts.append(f'<path class="on-{kind}" d="{place.start}{cell.solid}"/>')
    if cell.text:
        parts.append(f"<text {place.text}>{escape(cell.text)}</text>")
    if cell.corner:
        parts.append(f'<text class="corner" {place.corner}>{escape(cell.corner)}</text>')
    return f"{''.join(parts)}</g>"


@lru_cache(maxsize=8)
def _places(count: int, strings: int) -> list[list[_Place]]:
    """[strings][columns]; nothing of it changes with a plan."""
    grid = Grid(count, strings)

    def place(column: int, string: int) -> _Place:
        x, y = grid.at(column, string)
        text, corner = (f'x="{number(x + dx)}" y="{number(y + dy)}"' for dx, dy in (NUMBER, CORNER))
        return _Place(f"M{number(x)} {number(y)}", ground(x, y), text, corner)

    return [[place(i, s) for i in range(count)] for s in range(strings)]


def _chosen(grid: Grid, string: int) -> str:
    """Frames round the string's cells, one in each band."""
    return "".join(
        box(x, y, len(columns) * CELL_W, CELL_H)
        for columns in grid.rows()
        for x, y in [grid.at(columns[0], string - 1)]
    )


def _held_at(grid: Grid, layer: Layer, string: int, fretted: int | None) -> str:
    if fretted is None or layer.first or fretted >= grid.count:
        return ""
    return box(*grid.at(fretted, string - 1), CELL_W, CELL_H)
