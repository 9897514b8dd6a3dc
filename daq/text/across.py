"""Across the neck in words: twist, the board's form and radius, the circles through the frets."""

from __future__ import annotations

import numpy as np
from rich.console import Console

from analysis.board.arc import sagitta_mm
from analysis.form.across import Across
from analysis.instrument import FloatArray, Instrument
from analysis.neck.shape import Shape
from daq.text.console import bullets, heading, say
from daq.text.grid import plain_table
from daq.text.summary import radius_sentence, twist_sentence
from daq.text.words import fixed, named

FORMS = {
    "flat": "The board is flat across: no arc stands out of its readings.",
    "cylinder": "The board is a cylinder: one radius all along fits it as well as two.",
    "cone": "The board is a cone: its radius grows along the neck by more than any doubt of it.",
    "not known": "The board's form is not known: fewer than three lanes saw it.",
}
#: An outer string this far off the board's arc, by the fret's own radius, is worth a look, mm:
#: sanding blocks of the next radius differ by about as much (common practice, no source).
OFF_ARC_MM = 0.02
#: Frets in one row of the table.
ROW = 8


def print_across(console: Console, across: Across, shape: Shape, instrument: Instrument) -> None:
    """The radius of every fret's tops, and what it all means."""
    heading(console, f"Across, {shape.state}: radius of the circle through each fret's tops, mm")
    for first in range(0, across.radius_mm.size, ROW):
        rows = radius_rows(across, first, min(first + ROW, across.radius_mm.size))
        table = plain_table(rows[0])
        for row in rows[1:]:
            table.add_row(*row)
        console.print(table)
    say(console, "±: twice the standard uncertainty; the tip's radius across is in it", "dim")
    bullets(console, across_sentences(across, shape, instrument))


def radius_rows(across: Across, first: int, end: int) -> list[list[str]]:
    """Frets first + 1 to end: a row of frets, one of radii, one of twice their u."""
    chosen = range(first, end)
    return [
        ["fret", *(str(n + 1) for n in chosen)],
        ["mm", *(_radius(float(across.radius_mm[n])) for n in chosen)],
        ["±", *(fixed(2.0 * float(across.u_radius_mm[n]), 1) for n in chosen)],
    ]


def _radius(radius_mm: float) -> str:
    return "flat" if np.isinf(radius_mm) else fixed(radius_mm, 1)


def across_sentences(across: Across, shape: Shape, instrument: Instrument) -> list[str]:
    """Twist, form, board radius, frets that leave the board's arc; each says if it matters."""
    said = [twist_sentence(shape, instrument), form_sentence(across, instrument)]
    if across.form in ("cylinder", "cone"):
        said.append(radius_sentence(shape, instrument))
    return [*said, frets_sentence(across, shape)]


def form_sentence(across: Across, instrument: Instrument) -> str:
    """What form the board has, and where the file says another."""
    nut, last = instrument.board_radius_mm
    given = "cylinder" if nut == last else "cone"
    if across.form in ("flat", "not known") or across.form == given:
        return FORMS[across.form]
    return f"{FORMS[across.form]} The file says a {given}: check board: radius_mm in it."


def frets_sentence(across: Across, shape: Shape) -> str:
    """Frets whose circle leaves the board's by more than its u and by enough to matter."""
    if not np.isfinite(across.radius_mm).any():
        return "No fret shows a circle: too few lanes, or tops in a line."
    off, u = outer_off_mm(across, shape)
    with np.errstate(invalid="ignore"):
        # of a flat fret nothing but that is known
        odd = np.abs(off) - 2.0 * np.nan_to_num(u) > OFF_ARC_MM
    if not odd.any():
        return (
            "Every fret follows the board's arc, within "
            f"{fixed(OFF_ARC_MM, 2)} mm at the outer strings: no matter."
        )
    names = named("fret", [int(n) + 1 for n in np.flatnonzero(odd)])
    most = float(np.nanmax(np.abs(off[odd])))
    return (
        f"The tops of {names} leave the board's arc, by up to {fixed(most, 3)} mm at the outer "
        "strings: a fret that is seated badly or filed by a block of another radius; look there "
        "before cutting."
    )


def outer_off_mm(across: Across, shape: Shape) -> tuple[FloatArray, FloatArray]:
    """float[frets]: how far the outer strings lie under (+) the board's arc by the fret's own,
    both from the middle; and its u."""
    y = np.max(np.abs(shape.y_mm), axis=1)
    nut, last = across.board_radius_mm
    share = shape.x_mm.mean(axis=1) / float(shape.x_mm[-1].mean())
    board = nut + share * (last - nut)
    own = np.where(np.isinf(across.radius_mm), 1e9, across.radius_mm)
    return sagitta_mm(own, y) - sagitta_mm(board, y), 0.5 * y**2 / own**2 * across.u_radius_mm
