"""The board seen from above as a map of cells: frets across, strings down, a number in each."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from daq.figures import axes
from daq.figures.html import Html, joined, tag
from daq.figures.svg import box, drawing, label, number, path, text_width

CELL_W, CELL_H, LEFT = 36.0, 34.0, 50.0
_HEAD = 24.0
#: More frets than this go on another row: narrower cells could not be read, or touched.
WIDEST = 24
#: Space under a row of cells, beside an entry of the legend, and under it.
_GAP, _SWATCH, _FOOT = 9.0, 16.0, 5.0
#: A swatch with a sign in it is as wide as a cell, and so high.
_SIGN_H = 18.0
#: Where a cell's number and the sign in its corner stand, from its upper left corner.
NUMBER, CORNER = (0.5 * CELL_W, 27.0), (CELL_W - 7.0, 12.0)
#: A cell that is held back from cutting: a frame in it, strokes across two corners, so that its
#: number stays clear. And its swatch.
HATCH = "m3 3h30v28h-30zm0 6l6-6m-6 12l12-12m6 28l12-12m-6 12l6-6"
_HATCHED = "m1 1h12v12h-12zm0 6l6-6m0 12l6-6"


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell. kind: its ground, a style class. words: told on pointing at it, if not empty.

    corner: a sign beside the number. sketch, solid: what else is drawn in it, stroked or filled:
    paths from its upper left corner on. held: hatched.
    """

    text: str
    kind: str
    words: str = ""
    corner: str = ""
    sketch: str = ""
    solid: str = ""
    held: bool = False


Cells = Sequence[Sequence[Cell]]


@dataclass(frozen=True, slots=True)
class Grid:
    """Where the cells of a map lie."""

    count: int
    strings: int

    @property
    def columns(self) -> int:
        """How many stand side by side."""
        rows = -(-self.count // WIDEST)
        return -(-self.count // max(rows, 1))

    @property
    def width(self) -> float:
        return max(LEFT + self.columns * CELL_W + 4.0, axes.WIDTH)

    @property
    def bottom(self) -> float:
        return -(-self.count // max(self.columns, 1)) * self._row_h

    @property
    def _row_h(self) -> float:
        return _HEAD + self.strings * CELL_H + _GAP

    def at(self, column: int, string: int) -> tuple[float, float]:
        """The cell's upper left corner; string -1 is the line of headings."""
        row, place = divmod(column, self.columns)
        top = row * self._row_h + (_HEAD + string * CELL_H if string >= 0 else 0.0)
        return LEFT + place * CELL_W, top

    def rows(self) -> list[range]:
        """The columns of each row of cells."""
        starts = range(0, self.count, max(self.columns, 1))
        return [range(a, min(a + self.columns, self.count)) for a in starts]


def head(grid: Grid, column: int, name: str) -> Html:
    """A column's name over it."""
    x, y = grid.at(column, -1)
    return label(name, x + 0.5 * CELL_W, y + 18.0)


def corner_name(grid: Grid, column: int, name: str) -> Html:
    """What the columns of a row are, left of their names."""
    return label(name, LEFT - 6.0, grid.at(column, -1)[1] + 18.0, "soft end")


def side(grid: Grid, column: int, string: int) -> Html:
    """A string's number left of its row; strings from 0."""
    return label(str(string + 1), LEFT - 6.0, grid.at(column, string)[1] + 0.5 * CELL_H + 5.0)


def side_name(grid: Grid, column: int) -> Html:
    """What the rows are, left of their numbers."""
    middle = grid.at(column, 0)[1] + 0.5 * grid.strings * CELL_H
    return label("string", 13.0, middle, "soft mid", turned=True)


def _frame(grid: Grid, names: Sequence[str], corner: str) -> Html:
    """The names of columns and strings."""
    rows = grid.rows()
    sides = [side(grid, row[0], s) for row in rows for s in range(grid.strings)]
    heads = [head(grid, i, name) for i, name in enumerate(names)]
    return joined(
        *(corner_name(grid, row[0], corner) for row in rows),
        *(side_name(grid, row[0]) for row in rows),
        tag("g", *heads, class_="mid"),
        tag("g", *sides, class_="soft end"),
    )


def cell_map(
    title: str,
    words: str,
    names: Sequence[str],
    cells: Cells,
    legend: Sequence[Cell],
    corner: str = "fret",
) -> Html:
    """cells: [strings][columns], string 1 on top, the nut on the left."""
    grid = Grid(len(names), len(cells))
    placed = [(cell, *grid.at(i, s)) for s, line in enumerate(cells) for i, cell in enumerate(line)]
    foot, bottom = legend_rows(legend, grid.width, grid.bottom, LEFT)
    body = tag(
        "g",
        _frame(grid, names, corner),
        tag("g", *_drawn(placed), class_="mid"),
        class_="cells",
    )
    return drawing(title, words, (grid.width, bottom), body, foot)


def legend_rows(
    entries: Sequence[Cell], width: float, top: float, left: float = axes.LEFT
) -> tuple[Html, float]:
    """Swatches with their words, in as many rows as they need; and where they end."""
    parts, x, y = [], left, top
    signed = any(entry.sketch for entry in entries)
    wide, tall = (CELL_W, _SIGN_H) if signed else (_SWATCH, _SWATCH)
    for entry in entries:
        room = wide + 5.0 + text_width(entry.text) + 14.0
        if x > left and x + room > width:
            x, y = left, y + tall + 4.0
        start, on = f"M{number(x)} {number(y)}", f"on-{entry.kind}"
        parts.append(path(box(x, y, wide, tall), entry.kind))
        parts.append(path(f"{start}{entry.sketch}", f"sketch {on}") if entry.sketch else Html(""))
        parts.append(path(f"{start}{entry.solid}", on) if entry.solid else Html(""))
        parts.append(path(f"{start}{_HATCHED}", f"hatch {on}") if entry.held else Html(""))
        parts.append(label(entry.text, x + wide + 5.0, y + 0.5 * tall + 5.0, "soft"))
        x += room
    return joined(*parts), y + tall + _FOOT


def _drawn(placed: Sequence[tuple[Cell, float, float]]) -> list[Html]:
    """A group for each cell that has words, and one for all others of a kind."""
    told = [_group([one], tag("title", one[0].words)) for one in placed if one[0].words]
    plain = [one for one in placed if not one[0].words]
    for kind in dict.fromkeys(cell.kind for cell, _, _ in plain):
        told.append(_group([one for one in plain if one[0].kind == kind]))
    return told


def _group(placed: Sequence[tuple[Cell, float, float]], *first: Html) -> Html:
    """Cells of one kind."""

    def all_of(draw: Callable[[Cell], str]) -> str:
        return "".join(
            f"M{number(x)} {number(y)}{d}" for cell, x, y in placed for d in [draw(cell)] if d
        )

    kind = placed[0][0].kind
    corners = [
        label(cell.corner, x + CORNER[0], y + CORNER[1]) for cell, x, y in placed if cell.corner
    ]
    return tag(
        "g",
        *first,
        path("".join(ground(x, y) for _, x, y in placed)),
        path(all_of(lambda cell: HATCH if cell.held else ""), f"hatch on-{kind}"),
        path(all_of(lambda cell: cell.sketch), f"sketch on-{kind}"),
        path(all_of(lambda cell: cell.solid), f"on-{kind}"),
        *(label(cell.text, x + NUMBER[0], y + NUMBER[1]) for cell, x, y in placed if cell.text),
        tag("g", *corners, class_="corner") if corners else Html(""),
        class_=kind,
    )


def ground(x: float, y: float) -> str:
    """A cell's own rectangle, with a little air around it."""
    return box(x + 1.0, y + 1.0, CELL_W - 2.0, CELL_H - 2.0)
