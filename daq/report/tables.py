"""The report's tables of what the pictures show, to be read off."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis.form.across import Across
from analysis.form.along import Along
from analysis.neck.shape import Shape
from analysis.wear.wear import Wear
from daq.figures.chord import off_chord_um
from daq.figures.html import Html, joined, table, tag
from daq.text.across import radius_rows
from daq.text.along import along_rows
from daq.text.heights import height_mark
from daq.text.words import fixed, runs, signed

#: Verdicts that ask for work, told place by place.
TO_DO = ("worn out", "dented", "crown")


def heights_table(shape: Shape) -> Html:
    """Fret height for each fret and string, with the marks of the picture."""
    cells = [
        [f"{fixed(value, 3)}{height_mark(shape, (f, s)).strip()}" for s, value in enumerate(row)]
        for f, row in enumerate(shape.height_mm.tolist())
    ]
    return _board(f"Fret heights over the board, mm, {shape.state}", cells)


def off_chord_table(shape: Shape, joint: int) -> Html:
    """Tops over their string's chord."""
    off = off_chord_um(shape, joint)
    title = f"Tops over the chord from fret 1 to fret {joint}, µm, {shape.state}"
    return _board(title, [[signed(value, 0) for value in row] for row in off.tolist()])


def along_table(state: str, along: Sequence[Along]) -> Html:
    """S-shape and fall-away of each string."""
    headers = ["string", "S-shape, mm", "± mm", "fall-away, mm", "± mm", "frets' scatter, mm"]
    return _titled(f"Along each string, {state}", headers, along_rows(along))


def humps_table(along: Sequence[Along]) -> Html:
    """What stands out of the smooth lines."""
    rows = [
        [runs(range(hump.first, hump.last + 1)), str(one.string), signed(1e3 * hump.height_mm, 0),
         fixed(2e3 * hump.u_mm, 0)]
        for one in along
        for hump in one.humps
    ]  # fmt: skip
    headers = ["fret", "string", "off the smooth line, µm", "± µm"]
    return _titled("What stands out of the smooth lines", headers, rows)


def wear_table(wear: Wear | None) -> Html:
    """The places where wear asks for work."""
    if wear is None:
        return Html("")
    rows = [_worn(wear, int(f), int(s)) for f, s in np.argwhere(np.isin(wear.verdict, TO_DO))]
    headers = ["fret", "string", "verdict", "dent, µm", "± µm", "dent's width, mm", "flat, mm",
               "± mm"]  # fmt: skip
    return _titled("Wear that asks for work", headers, rows)


def radius_table(across: Across | None) -> Html:
    """Radius of each fret's tops."""
    if across is None:
        return Html("")
    columns = radius_rows(across, 0, across.radius_mm.size)
    rows = [list(row) for row in zip(*(column[1:] for column in columns), strict=True)]
    return _titled("Radius of each fret's tops", ["fret", "radius, mm", "± mm"], rows)


def _worn(wear: Wear, f: int, s: int) -> list[str]:
    at = (f, s)
    return [
        str(f + 1),
        str(s + 1),
        str(wear.verdict[at]),
        fixed(1e3 * float(wear.dent_mm[at]), 0),
        fixed(2e3 * float(wear.u_dent_mm[at]), 0),
        fixed(float(wear.dent_width_mm[at]), 1),
        fixed(float(wear.flat_mm[at]), 2),
        fixed(2.0 * float(wear.u_flat_mm[at]), 2),
    ]


def _board(title: str, cells: list[list[str]]) -> Html:
    """Frets down, strings across. cells: [frets][strings]."""
    headers = ["fret", *(f"string {s}" for s in range(1, len(cells[0]) + 1))]
    rows = [[str(fret), *row] for fret, row in enumerate(cells, start=1)]
    return _titled(title, headers, rows)


def _titled(title: str, headers: list[str], rows: list[list[str]]) -> Html:
    """Nothing where there are no rows."""
    return joined(tag("h3", title), table(headers, rows, close=True)) if rows else Html("")
