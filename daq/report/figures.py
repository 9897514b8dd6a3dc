"""The report's figures: maps of the board and, string by string, its tops in both states."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis.instrument import FloatArray
from analysis.neck.shape import Shape
from analysis.plan.plan import Clearance
from daq.report.boardmap import Cell, cell_map, scaled_cells
from daq.report.chart import Curve, panel
from daq.report.html import Html, tag
from daq.text.heights import height_mark
from daq.text.margins import MARKS, position, spare_mm
from daq.text.words import fixed


def heights_figure(shape: Shape) -> Html:
    """Fret height over the board in every cell."""
    cells, legend = scaled_cells(shape.height_mm, 2, "mm", "height in mm")
    marked = [
        [
            Cell(cell.text + height_mark(shape, (f, s)).strip(), cell.fill, cell.ink, cell.words)
            for f, cell in enumerate(row)
        ]
        for s, row in enumerate(cells)
    ]
    title = f"Fret heights over the board, mm, {shape.state}"
    return _figure(
        cell_map(title, _numbers(1, shape.height_mm.shape[0]), marked, legend),
        f"{title}. The board seen from above, nut on the left, string 1 on top. "
        "~ inferred from beside the string, ? doubtful, _ worn flat.",
    )


def cuts_figure(removal_um: FloatArray) -> Html:
    """What is to come off in every cell; empty where a fret stays."""
    cells, legend = scaled_cells(
        np.where(removal_um > 0, removal_um, np.nan), 0, "µm", "to come off in µm"
    )
    blank = [
        [c if c.fill != "none" else Cell("", "none", "soft", "stays") for c in row] for row in cells
    ]
    title = "The cut plan, µm"
    return _figure(
        cell_map(title, _numbers(1, removal_um.shape[0]), blank, legend),
        f"{title}. An empty cell stays as it is. Nut on the left, string 1 on top.",
    )


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
    legend = [Cell(f"{mark} {word}", word, "soft", "") for word, mark in MARKS.items()]
    names = ["open" if n == 0 else str(n) for n in fretted]
    return _figure(
        cell_map(title, names, cells, legend),
        f"{title}. Room to spare at the worst place beyond each fretted position, straight or "
        "bent, hundredths of a millimetre.",
    )


def tops_figure(strung: Shape | None, unstrung: Shape | None, joint: int) -> Html:
    """One panel a string: tops off their own chord, with bars of twice the uncertainty."""
    shapes = [shape for shape in (strung, unstrung) if shape is not None]
    if not shapes:
        return Html("")
    curves = [[_curve(shape, s, joint) for shape in shapes] for s in range(shapes[0].x_mm.shape[1])]
    reach = _reach(curves)
    panels = [
        panel(f"string {s + 1}", pair, reach, "mm from the nut", "µm")
        for s, pair in enumerate(curves)
    ]
    return _figure(
        tag("div", *panels),
        f"Fret tops over the chord from fret 1 to fret {joint} (the straight line at 0), in µm, "
        "along each string. Filled, solid: strung. Open, dashed: unstrung. Bars: twice the "
        "standard uncertainty.",
    )


def _figure(drawing: Html, caption: str) -> Html:
    return tag("figure", tag("figcaption", caption), tag("div", drawing, class_="wide"))


def _numbers(first: int, last: int) -> list[str]:
    return [str(number) for number in range(first, last + 1)]


def _badness(c: Clearance) -> tuple[int, float]:
    return (-list(MARKS).index(c.verdict), spare_mm(c))


def _margin(c: Clearance | None) -> Cell:
    if c is None:
        return Cell("–", "none", "soft", "nothing to tell")
    hundredths = fixed(100.0 * spare_mm(c), 0)
    words = f"{position(c)}, over fret {c.worst_at}: {hundredths} hundredths of a mm, {c.verdict}"
    return Cell(f"{hundredths}{MARKS[c.verdict]}", c.verdict, f"on-{c.verdict}", words)


def _curve(shape: Shape, s: int, joint: int) -> Curve:
    x, z = shape.x_mm[:, s], shape.top_mm[:, s]
    share = (x - x[0]) / (x[joint - 1] - x[0])
    off = z - z[0] - share * (z[joint - 1] - z[0])
    return Curve(shape.state, x, 1e3 * off, 2e3 * shape.u_top_mm[:, s])


def _reach(curves: list[list[Curve]]) -> tuple[float, float]:
    """The lowest and highest value of all panels, so that strings can be compared by eye."""
    ends = np.concatenate(
        [np.concatenate([c.y - c.bar, c.y + c.bar]) for pair in curves for c in pair]
    )
    ends = ends[np.isfinite(ends)]
    return (float(min(ends.min(), 0.0)), float(max(ends.max(), 0.0))) if ends.size else (0.0, 0.0)
