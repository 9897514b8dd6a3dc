"""What a map of the board may show, a cell for each fret under each string."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from analysis.instrument import FloatArray
from analysis.neck.shape import Shape
from analysis.plan.room import Room
from daq.figures.boardmap import Cell, Cells
from daq.figures.scaledcells import scaled_cells
from daq.reading.doubts import Doubts
from daq.text.heights import LEGEND, height_mark
from daq.text.margins import MARKS
from daq.text.words import fixed

#: What is clear needs no sign beside its number.
_MARKS = MARKS | {"clear": ""}
_ON_TOP = "Nut on the left, string 1 on top."


@dataclass(frozen=True, slots=True)
class Layer:
    """cells: [strings][columns]. corner: what the columns are; first: the fret of the first one."""

    title: str
    words: str
    names: Sequence[str]
    cells: Cells
    legend: Sequence[Cell] = field(default_factory=list)
    corner: str = "fret"
    first: int = 1


def fret_names(count: int) -> list[str]:
    """Fret numbers over the columns of a map."""
    return [str(number) for number in range(1, count + 1)]


def heights(shape: Shape, *, told: bool = False) -> Layer:
    """Fret height over the board. told: every cell says its number with what is not known."""
    cells, legend = scaled_cells(shape.height_mm, 2, "mm")
    marks = _height_marks(shape)
    band = 2.0 * shape.u_height_mm

    def marked(cell: Cell, f: int, s: int) -> Cell:
        if cell.kind == "none":
            return replace(cell, words="height not known") if told else cell
        said = f"{cell.text} ± {fixed(float(band[f, s]), 3)} mm high" if told else ""
        return Cell(cell.text, cell.kind, said, marks[s][f])

    drawn = [[marked(cell, f, s) for f, cell in enumerate(row)] for s, row in enumerate(cells)]
    shown = {cell.corner for row in drawn for cell in row}
    meanings = [meaning for mark, meaning in LEGEND.items() if mark in shown]
    words = (
        f"{_ON_TOP} A darker cell is a higher fret, on a dark screen a lighter one. "
        f"{'; '.join([*meanings, '– not known'])}."
    )
    title = f"Fret heights over the board, mm, {shape.state}"
    return Layer(title, words, fret_names(shape.height_mm.shape[0]), drawn, legend)


def _height_marks(shape: Shape) -> list[list[str]]:
    """[strings][frets]; what holds for every top is marked at none."""
    strings, frets = (range(n) for n in shape.height_mm.T.shape)
    marks = [[height_mark(shape, (f, s)).strip() for f in frets] for s in strings]
    if all(mark == "~" for row in marks for mark in row):
        return [["" for _ in frets] for _ in strings]
    return marks


def cuts(
    removal_um: FloatArray, doubts: Doubts, worn: Collection[int] = (), *, told: bool = False
) -> Layer:
    """What is to come off; empty where a fret stays. Doubtful frets and tops, and frets to
    replace, are marked. removal_um: [frets, strings]. worn: frets to be replaced."""
    cells, legend = scaled_cells(np.where(removal_um > 0, removal_um, np.nan), 0, "µm")
    scale = legend if (removal_um > 0).any() else []
    unsure = {(one.suspect.fret, one.suspect.string) for one in doubts.tops}
    doubted = [Cell("? a top in doubt", "none")] if unsure else []

    def drawn(cell: Cell, f: int, s: int) -> Cell:
        corner = "?" if (f + 1, s + 1) in unsure else ""
        if cell.kind == "none":
            text, said = "", "stays as it is"
        else:
            text, said = cell.text, f"{removal_um[f, s]:.1f} µm to come off"
        said += ", a top in doubt" * bool(corner)
        return Cell(text, cell.kind, said if told else "", corner)

    names, meanings = marked_names(removal_um.shape[0], doubts, worn)
    marks = f" {'; '.join(meanings)}." if meanings else ""
    return Layer(
        "The cut plan, µm",
        f"An empty cell stays as it is; a darker one loses more. {_ON_TOP}{marks}",
        names,
        [[drawn(cell, f, s) for f, cell in enumerate(row)] for s, row in enumerate(cells)],
        [*scale, *doubted],
    )


def marked_names(count: int, doubts: Doubts, worn: Collection[int]) -> tuple[list[str], list[str]]:
    """Fret numbers with a mark for each fret that is not as it should be; the marks' meanings."""
    marks = dict.fromkeys(worn, "✕")
    marks |= {one.fret: "~" if one.why == "loose" else "?" for one in doubts.frets}
    names = [f"{name}{marks.get(n, '')}" for n, name in enumerate(fret_names(count), start=1)]
    meanings = {"~": "looks loose", "?": "in doubt", "✕": "to be replaced"}
    return names, [f"{mark} beside a fret: {said}" for mark, said in meanings.items()
                   if mark in marks.values()]  # fmt: skip


def room(found: Room, title: str, *, told: bool = False) -> Layer:
    """Room to spare at the worst place beyond each position; a cell that is not clear says where
    that is, every cell where it is told."""
    spare, verdict = found.spare_mm.tolist(), found.verdict.tolist()
    at, bend = found.at.tolist(), found.bend.tolist()
    positions, strings = found.spare_mm.shape

    def cell(n: int, s: int) -> Cell:
        if verdict[n][s] not in _MARKS:
            return Cell("–", "none", "nothing to tell" if told else "")
        said = "" if verdict[n][s] == "clear" else f"over fret {at[n][s]}"
        if told:
            said = _said(spare[n][s], verdict[n][s], at[n][s], bent=bend[n][s])
        return Cell(fixed(100.0 * spare[n][s], 0), verdict[n][s], said, _MARKS[verdict[n][s]])

    words = (
        "Room to spare at the worst place beyond each fretted position, straight or bent, "
        "hundredths of a millimetre. Point at a cell that is not clear for the place."
    )
    return Layer(
        title,
        words,
        ["open", *fret_names(positions - 1)],
        [[cell(n, s) for n in range(positions)] for s in range(strings)],
        [Cell(f"{mark} {word}".strip(), word) for word, mark in _MARKS.items()],
        "held",
        0,
    )


def _said(spare_mm: float, verdict: str, at: int, *, bent: bool) -> str:
    """0.012 mm short over fret 9, bent: buzzes."""
    way = "to spare" if spare_mm >= 0.0 else "short"
    return f"{fixed(abs(spare_mm), 3)} mm {way} over fret {at}{', bent' * bent}: {verdict}"
