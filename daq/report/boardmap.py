"""The board seen from above as a map of cells: frets across, strings down, a number in each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray
from daq.report.html import Html, tag

_CELL_W, _CELL_H, _LEFT, _TOP = 40.0, 26.0, 74.0, 34.0
LEVELS = 6


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell. fill, ink: style classes. words: what a reader is told on pointing at it."""

    text: str
    fill: str
    ink: str
    words: str


def cell_map(
    title: str, frets: Sequence[str], cells: Sequence[Sequence[Cell]], legend: Sequence[Cell]
) -> Html:
    """cells: [strings][frets], string 1 on top, the nut on the left."""
    columns, rows = len(frets), len(cells)
    width = max(_LEFT + columns * _CELL_W + 8.0, 560.0)
    bottom = _TOP + rows * _CELL_H
    parts = [tag("text", "fret", x=_LEFT - 8.0, y=_TOP - 10.0, text_anchor="end", class_="soft")]
    parts += [
        tag("text", name, x=_LEFT + (i + 0.5) * _CELL_W, y=_TOP - 10.0, text_anchor="middle")
        for i, name in enumerate(frets)
    ]
    for row, line in enumerate(cells):
        y = _TOP + row * _CELL_H
        name = f"string {row + 1}"
        parts.append(tag("text", name, x=_LEFT - 8.0, y=y + 17.0, text_anchor="end", class_="soft"))
        parts += [_drawn(cell, _LEFT + i * _CELL_W, y) for i, cell in enumerate(line)]
    parts.append(_legend(legend, bottom + 16.0))
    return tag(
        "svg",
        tag("title", title),
        *parts,
        viewBox=f"0 0 {width:.0f} {bottom + 48:.0f}",
        role="img",
        aria_label=title,
    )


def scaled_cells(
    values: FloatArray, digits: int, unit: str, what: str
) -> tuple[list[list[Cell]], list[Cell]]:
    """Cells [strings][frets] and their legend from [frets, strings]: darker on paper is more.

    NaN is an empty, dashed cell. The steps of the scale are equal.
    """
    known = values[np.isfinite(values)]
    low = float(known.min()) if known.size else 0.0
    high = float(known.max()) if known.size else 0.0
    step = (high - low) / LEVELS
    cells = [
        [
            _scaled(float(values[f, s]), low, step, digits, f"fret {f + 1}, string {s + 1}: {what}")
            for f in range(values.shape[0])
        ]
        for s in range(values.shape[1])
    ]
    if step <= 0:
        return cells, [Cell(f"{low:.{digits}f} {unit}", "q0", "t0", "")]
    legend = [
        Cell(f"{low + n * step:.{digits}f} to {low + (n + 1) * step:.{digits}f} {unit}",
             f"q{n}", f"t{n}", "")
        for n in range(LEVELS)
    ]  # fmt: skip
    return cells, legend


def _scaled(value: float, low: float, step: float, digits: int, words: str) -> Cell:
    if not np.isfinite(value):
        return Cell("–", "none", "soft", f"{words} not known")
    level = min(int((value - low) / step), LEVELS - 1) if step > 0 else 0
    text = f"{value:.{digits}f}"
    return Cell(text, f"q{level}", f"t{level}", f"{words} {text}")


def _drawn(cell: Cell, x: float, y: float) -> Html:
    return tag(
        "g",
        tag("title", cell.words),
        tag("rect", x=x + 1.0, y=y + 1.0, width=_CELL_W - 2.0, height=_CELL_H - 2.0, rx=2.0,
            class_=cell.fill),
        tag("text", cell.text, x=x + 0.5 * _CELL_W, y=y + 17.0, text_anchor="middle",
            class_=cell.ink),
    )  # fmt: skip


def _legend(entries: Sequence[Cell], y: float) -> Html:
    parts, x = [], _LEFT
    for entry in entries:
        parts.append(tag("rect", x=x, y=y, width=14.0, height=14.0, rx=2.0, class_=entry.fill))
        parts.append(tag("text", entry.text, x=x + 19.0, y=y + 11.0, class_="soft"))
        x += 34.0 + 6.2 * len(entry.text)
    return tag("g", *parts)
