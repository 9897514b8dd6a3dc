"""Wear under the strings and frets that are loose, in words and as a table."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from rich.console import Console
from rich.text import Text

from analysis.neck.neck import Tip
from analysis.wear.loose import Loose
from analysis.wear.wear import DONE_FOR_MM, SURE, Wear, bridged_mm
from daq.text.console import bullets, heading, say
from daq.text.grid import print_grid
from daq.text.words import fixed, listed, named

#: What a verdict adds to a depth.
MARKS = {
    "round": " ",
    "leave": "=",
    "crown": "#",
    "dented": "v",
    "worn out": "x",
    "not known": "-",
}
LEGEND = {
    ".": ". no dent that can be told from none",
    "=": "= a flat narrow enough to leave",
    "#": "# a wide flat: make it round again after levelling",
    "v": "v dented: deeper than a file should follow by the way",
    "x": "x worn out: too little is left of the fret",
    "-": "- not known",
}
_STYLES = {"worn out": "bold red", "dented": "yellow", "crown": "yellow"}


def print_wear(console: Console, wear: Wear, tip: Tip) -> None:
    """The table of dents, the meaning of its marks, and what matters of it."""
    heading(console, "Wear: depth of dents under the strings, µm (frets down, strings across)")
    frets, strings = wear.verdict.shape
    cells = [[_cell(wear, (f, s)) for s in range(strings)] for f in range(frets)]
    print_grid(console, "fret", [str(f + 1) for f in range(frets)], cells)
    shown = {sign for row in cells for cell in row for sign in cell.plain}
    for sign, meaning in LEGEND.items():
        if sign in shown:
            say(console, meaning, "dim")
    bullets(console, wear_sentences(wear, tip))


def print_loose(console: Console, loose: Sequence[Loose]) -> None:
    """What looks loose; nothing where no fret does."""
    if loose:
        heading(console, "Frets that do not keep their height")
        bullets(console, loose_sentences(loose))


def wear_sentences(wear: Wear, tip: Tip) -> list[str]:
    """What is worn and whether it matters, the worst first."""
    if np.all(wear.verdict == "not known"):
        return ["Wear is not known: that takes lanes under the strings and between them."]
    said = [*_worn_out(wear), *_dented(wear, tip), *_flats(wear)]
    if not said:
        said = ["No dents and no flats to speak of: nothing here needs a file."]
    missing = int(np.count_nonzero(wear.verdict == "not known"))
    if missing:
        said.append(f"Not known in {missing} of {wear.verdict.size} places.")
    known = wear.u_dent_mm[np.isfinite(wear.u_dent_mm)]
    if known.size:
        band = fixed(2e3 * float(np.median(known)), 1)
        said.append(f"Dents are known to ± {band} µm (twice the standard uncertainty).")
    return said


def loose_sentences(loose: Sequence[Loose]) -> list[str]:
    """One for each loose fret, none where no fret looks loose."""
    return [_loose(one) for one in loose]


def _worn_out(wear: Wear) -> list[str]:
    done = wear.verdict == "worn out"
    if not done.any():
        return []
    return [
        f"Worn out: {_places(done)}. Less than about {DONE_FOR_MM} mm of fret is left there, or "
        "would be once the fret is level with its dent (common practice). It matters: put in new "
        "frets before anything is filed."
    ]


def _dented(wear: Wear, tip: Tip) -> list[str]:
    dented = wear.verdict == "dented"
    if not dented.any():
        return []
    depth = np.where(dented, wear.dent_mm, -np.inf)
    fret, string = np.unravel_index(int(np.argmax(depth)), depth.shape)
    deepest, band = float(depth[fret, string]), 2.0 * float(wear.u_dent_mm[fret, string])
    said = (
        f"Dented: {_places(dented)}; deepest {fixed(deepest, 3)} ± {fixed(band, 3)} mm, fret "
        f"{fret + 1} under string {string + 1}. It matters: a string fretted there starts that "
        "much lower and may buzz on the next frets, and a fret filed level with its dent loses "
        "that much all across."
    )
    width = bridged_mm(deepest, tip.ball_mm)
    if width > 0.0:
        said += (
            f" A hollow less than {fixed(width, 1)} mm wide, as thin strings cut, is deeper than "
            "that: the tip stands on its edges."
        )
    return [said]


def _flats(wear: Wear) -> list[str]:
    said = []
    crown = wear.verdict == "crown"
    if crown.any():
        said.append(
            f"Wide flats: {_places(crown)}, up to {_widest(wear, crown)} mm. They matter: the "
            "string sounds from the flat's edge. Make these crowns round again after levelling."
        )
    leave = wear.verdict == "leave"
    if leave.any():
        said.append(
            f"Narrow flats, up to {_widest(wear, leave)} mm: no matter, leave them (common "
            "practice: up to a third of the crown's width)."
        )
    return said


def _widest(wear: Wear, where: NDArray[np.bool_]) -> str:
    at = int(np.argmax(np.where(where, wear.flat_mm, -np.inf)))
    width, u = float(wear.flat_mm.flat[at]), float(wear.u_flat_mm.flat[at])
    return f"{fixed(width, 2)} ± {fixed(2.0 * u, 2)}"


def _places(where: NDArray[np.bool_]) -> str:
    """frets 1 to 3 under string 2 and fret 5 under string 3; by frets alone where many."""
    strings = np.flatnonzero(where.any(axis=0))
    if strings.size > 3:
        frets = (np.flatnonzero(where.any(axis=1)) + 1).tolist()
        return f"{named('fret', frets)} under {named('string', (strings + 1).tolist())}"
    each = [
        f"{named('fret', (np.flatnonzero(where[:, s]) + 1).tolist())} under string {s + 1}"
        for s in strings
    ]
    return listed(each)


def _loose(one: Loose) -> str:
    size = f"{fixed(one.size_mm, 3)} ± {fixed(2.0 * one.u_mm, 3)} mm"
    what = {
        "ways disagree": f"passes there and back differ by {size}, as on no other fret",
        "lanes disagree": f"it stands {size} over the line of the rest of the fret, which wear "
        "never does: loose, or bent",
        "scans disagree": f"repeated scans differ by {size}",
        "strung and unstrung disagree": f"strung and unstrung it differs by {size} more than "
        "the neck's bending explains",
    }[one.why]
    return (
        f"Fret {one.fret} looks loose{_where(one)}: {what}. It matters: press it with a finger; "
        "if it gives, seat it and scan again, for its heights do not hold."
    )


def _where(one: Loose) -> str:
    if not one.strings:
        return ""
    first, last = math.floor(min(one.strings)), math.ceil(max(one.strings))
    return f" under string {first}" if first == last else f" between strings {first} and {last}"


def _cell(wear: Wear, at: tuple[int, int]) -> Text:
    verdict = str(wear.verdict[at])
    depth, u = float(wear.dent_mm[at]), float(wear.u_dent_mm[at])
    if not np.isfinite(depth):
        return Text(f"-{MARKS[verdict].replace('-', ' ')}", style="yellow")
    number = f"{1e3 * depth:.0f}" if depth > SURE * u else "."
    return Text(number + MARKS[verdict], style=_STYLES.get(verdict, ""))
