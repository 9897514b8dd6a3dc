"""Fret heights over the board, fret by fret and string by string."""

from __future__ import annotations

import numpy as np
from rich.console import Console
from rich.text import Text

from analysis.instrument import FloatArray
from analysis.neck.shape import Shape
from analysis.wear.wear import DONE_FOR_MM
from daq.text.console import heading, say
from daq.text.grid import print_grid
from daq.text.words import fixed

#: With more strings than this the table has two decimals.
WIDE = 8

LEGEND = {
    "~": "~ inferred from the lanes beside the string",
    "?": "? doubtful, the scan's status says why",
    "-": "- not known",
}


def print_heights(console: Console, shape: Shape) -> None:
    """The table, the meaning of its marks, and the lowest fret."""
    heading(console, f"Fret heights over the board, mm, {shape.state} (frets down, strings across)")
    frets, strings = shape.height_mm.shape
    digits = 3 if strings <= WIDE else 2
    cells = [[_cell(shape, (f, s), digits) for s in range(strings)] for f in range(frets)]
    print_grid(console, "fret", [str(f + 1) for f in range(frets)], cells)
    marks = {cell.plain[-1] for row in cells for cell in row}
    for mark, meaning in LEGEND.items():
        if mark in marks:
            say(console, meaning, "dim")
    say(console, height_sentence(shape))


def height_mark(shape: Shape, at: tuple[int, int]) -> str:
    """One sign for what is to be known about a height; wear has a table of its own."""
    status = str(shape.status[at])
    if status not in ("ok", "inferred"):
        return "?"
    return "~" if status == "inferred" else " "


def height_sentence(shape: Shape) -> str:
    """The lowest fret, whether it matters, and how well heights are known."""
    height = shape.height_mm
    if not np.isfinite(height).any():
        return "No fret's height is known."
    fret, string = np.unravel_index(int(np.nanargmin(height)), height.shape)
    lowest = float(height[fret, string])
    said = f"Lowest: {fixed(lowest, 2)} mm, fret {fret + 1} under string {string + 1}. "
    said += _known_to(2.0 * shape.u_height_mm[np.isfinite(height)])
    # unstrung, the table of wear says where frets are worn out
    if lowest < DONE_FOR_MM and shape.state == "strung":
        return f"{said} Under about {DONE_FOR_MM} mm a fret is done for (common practice)."
    return said


def _known_to(band_mm: FloatArray) -> str:
    usual, worst = fixed(float(np.median(band_mm)), 3), fixed(float(np.max(band_mm)), 3)
    more = "" if usual == worst else f", the worst to ± {worst} mm"
    return f"Heights are known to ± {usual} mm{more} (twice the standard uncertainty)."


def _cell(shape: Shape, at: tuple[int, int], digits: int) -> Text:
    height = float(shape.height_mm[at])
    if not np.isfinite(height):
        return Text("-", style="yellow")
    mark = height_mark(shape, at)
    style = "bold red" if height < DONE_FOR_MM else "yellow" if mark == "?" else ""
    return Text(f"{height:.{digits}f}{mark}", style=style)
