"""Tables of what the pictures show, frets down and strings across where there are both."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis.after.verify import Cut
from analysis.form.across import Across
from analysis.form.along import Along
from analysis.neck.shape import Shape
from analysis.wear.wear import SURE, Wear
from daq.figures.chord import off_chord_um
from daq.figures.html import Html
from daq.report.tabled import board_table, table
from daq.text.across import radius_rows
from daq.text.along import along_rows
from daq.text.heights import WIDE, height_mark
from daq.text.verify import MARKS as CUT_MARKS
from daq.text.wear import LEGEND, MARKS
from daq.text.words import fixed, runs, signed

#: Verdicts that ask for work.
TO_DO = ("worn out", "dented", "crown")


def heights_table(shape: Shape, when: str = "") -> Html:
    """Fret height for each fret and string, with the marks of the picture."""
    digits = 3 if shape.height_mm.shape[1] <= WIDE else 2
    cells = [
        [
            f"{fixed(value, digits)}{height_mark(shape, (f, s)).strip()}"
            for s, value in enumerate(row)
        ]
        for f, row in enumerate(shape.height_mm.tolist())
    ]
    return _board(f"Fret heights over the board, mm, {when or shape.state}", cells)


def off_chord_table(shape: Shape, joint: int) -> Html:
    """Tops over their string's chord."""
    off = off_chord_um(shape, joint)
    title = f"Tops over the chord from fret 1 to fret {joint}, µm, {shape.state}"
    return _board(title, [[signed(value, 0) for value in row] for row in off.tolist()])


def along_table(state: str, along: Sequence[Along]) -> Html:
    """S-shape and fall-away of each string."""
    headers = ["string", "S-shape", "±", "fall-away", "±", "frets' scatter"]
    return table(f"Along each string, {state}, mm", headers, along_rows(along), kind="close")


def humps_table(along: Sequence[Along], strings: int) -> Html:
    """What stands out of the smooth lines; a dot where a string has none there."""
    places = sorted({(h.first, h.last) for one in along for h in one.humps})
    at = {(h.first, h.last, one.string): h for one in along for h in one.humps}
    rows = []
    for first, last in places:
        found = [at.get((first, last, s)) for s in range(1, strings + 1)]
        cells = ["." if h is None else signed(1e3 * h.height_mm, 0) for h in found]
        rows.append([runs(range(first, last + 1)), *cells])
    worst = max((h.u_mm for h in at.values()), default=0.0)
    caption = f"What stands out of the smooth lines, µm, ± {fixed(2e3 * worst, 0)} or better"
    return board_table(caption, strings, rows)


def cuts_table(cuts: Sequence[Cut]) -> Html:
    """Planned against achieved, every cut."""
    rows = [
        [f"{c.fret}, string {c.string}", fixed(c.planned_um, 1), fixed(c.achieved_um, 1),
         fixed(2 * c.u_achieved_um, 1), f"{c.verdict} {CUT_MARKS[c.verdict]}"]
        for c in cuts
    ]  # fmt: skip
    headers = ["fret", "planned", "achieved", "±", "verdict"]
    return table("Planned against achieved, µm", headers, rows, kind="close")


def wear_table(wear: Wear | None) -> Html:
    """The frets where wear asks for work: a dent's depth or a flat's width with its mark."""
    if wear is None:
        return Html("")
    asks = np.isin(wear.verdict, TO_DO)
    frets, strings = asks.shape
    rows = [
        [str(f + 1), *(_worn(wear, (f, s)) if asks[f, s] else "." for s in range(strings))]
        for f in range(frets)
        if asks[f].any()
    ]
    marks = [LEGEND[MARKS[verdict]] for verdict in TO_DO if (wear.verdict == verdict).any()]
    u = [fixed(scale * float(np.max(u, where=asks & np.isfinite(u), initial=0.0)), digits)
         for scale, u, digits in ((2e3, wear.u_dent_mm, 0), (2.0, wear.u_flat_mm, 2))]  # fmt: skip
    caption = (
        f"Wear that asks for work: depth of dents, µm, ± {u[0]} or better; # width of flats, mm, "
        f"± {u[1]} or better. {'; '.join(marks)}."
    )
    return board_table(caption, strings, rows)


def radius_table(across: Across | None) -> Html:
    """Radius of each fret's tops."""
    if across is None:
        return Html("")
    columns = radius_rows(across, 0, across.radius_mm.size)
    rows = [list(row) for row in zip(*(column[1:] for column in columns), strict=True)]
    return table("Radius of each fret's tops, mm", ["fret", "radius", "±"], rows, kind="close")


def _worn(wear: Wear, at: tuple[int, int]) -> str:
    verdict = str(wear.verdict[at])
    if verdict == "crown":
        return f"{fixed(float(wear.flat_mm[at]), 2)}{MARKS[verdict]}"
    dent = float(wear.dent_mm[at])
    known = np.isfinite(dent) and dent > SURE * float(wear.u_dent_mm[at])
    return f"{fixed(1e3 * dent, 0) if known else ''}{MARKS[verdict]}"


def _board(title: str, cells: list[list[str]]) -> Html:
    """cells: [frets][strings]."""
    rows = [[str(fret), *row] for fret, row in enumerate(cells, start=1)]
    return board_table(title, len(cells[0]), rows)
