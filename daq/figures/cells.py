"""The report's figures of cells: fret heights, margins."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from analysis.neck.shape import Shape
from analysis.plan.clearances import Clearance
from daq.figures.boardmap import Cell, cell_map, scaled_cells
from daq.figures.html import Html, tag
from daq.text.heights import LEGEND, height_mark
from daq.text.margins import MARKS, spare_mm
from daq.text.words import fixed


def figure(title: str, words: str, first: Html, *more: Html) -> Html:
    """Pictures under what they show; on paper the words stay with the first."""
    caption = tag("figcaption", tag("b", f"{title}."), f" {words}")
    whole = tag("div", caption, tag("div", first, class_="wide"), class_="whole")
    return tag("figure", whole, *(tag("div", one, class_="wide") for one in more))


def heights_figure(shape: Shape) -> Html:
    """Fret height over the board in every cell."""
    cells, legend = scaled_cells(shape.height_mm, 2, "mm")
    marked = [
        [
            replace(cell, text=cell.text + height_mark(shape, (f, s)).strip())
            if cell.kind != "none" else cell
            for f, cell in enumerate(row)
        ]
        for s, row in enumerate(cells)
    ]  # fmt: skip
    shown = {cell.text[-1] for row in marked for cell in row}
    meanings = [meaning for mark, meaning in LEGEND.items() if mark in shown]
    title = f"Fret heights over the board, mm, {shape.state}"
    words = (
        "Nut on the left, string 1 on top; a darker cell is a higher fret, on a dark screen a "
        f"lighter one. {'; '.join([*meanings, '– not known'])}."
    )
    names = fret_names(shape.height_mm.shape[0])
    return figure(title, words, cell_map(title, words, names, marked, legend))


def margins_figure(clearances: Sequence[Clearance], title: str) -> Html:
    """The worst of each string and fretted position, straight or bent, hundredths of a mm."""
    worst: dict[tuple[int, int], Clearance] = {}
    for c in clearances:
        key = (c.string, c.fretted)
        if key not in worst or _badness(c) < _badness(worst[key]):
            worst[key] = c
    strings = range(1, max((s for s, _ in worst), default=0) + 1)
    fretted = sorted({n for _, n in worst})
    cells = [[_margin(worst.get((s, n))) for n in fretted] for s in strings]
    legend = [Cell(f"{mark} {word}", word) for word, mark in MARKS.items()]
    names = ["open" if n == 0 else str(n) for n in fretted]
    words = (
        "Room to spare at the worst place beyond each fretted position, straight or bent, "
        "hundredths of a millimetre. Point at a cell that is not clear for the place."
    )
    return figure(title, words, cell_map(title, words, names, cells, legend))


def fret_names(count: int) -> list[str]:
    """Fret numbers over the columns of a map."""
    return [str(number) for number in range(1, count + 1)]


def _badness(c: Clearance) -> tuple[int, float]:
    return (-list(MARKS).index(c.verdict), spare_mm(c))


def _margin(c: Clearance | None) -> Cell:
    """Pointing at a cell tells where its worst place is; the clear ones need no telling."""
    if c is None:
        return Cell("–", "none")
    words = "" if c.verdict == "clear" else f"over fret {c.worst_at}"
    return Cell(f"{fixed(100.0 * spare_mm(c), 0)}{MARKS[c.verdict]}", c.verdict, words)
