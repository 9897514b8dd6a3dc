"""Relief, twist and radius of one state, in words, and whether they matter."""

from __future__ import annotations

import numpy as np
from rich.console import Console

from analysis.board.arc import NO_ARC_MM
from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from daq.text.console import heading, say
from daq.text.grid import plain_table
from daq.text.words import fixed, thou

#: What is usual, mm (common practice, no source; values from memory).
USUAL_RELIEF_MM = (0.1, 0.3)
#: A turn that lifts one outer string against the other by less, saddles take up, mm (own choice).
SMALL_TWIST_MM = 0.1
LARGE_TWIST_MM = 0.3
#: A board this far from its file's radius is worth a second look, as a share (own choice).
RADIUS_SHARE = 0.1


def print_relief(console: Console, shape: Shape, instrument: Instrument) -> None:
    """Relief for each string, and whether it matters."""
    joint = instrument.body_joint_fret
    heading(console, f"Relief, {shape.state}: depth under the chord from fret 1 to fret {joint}")
    table = plain_table(["string", "mm", "± mm", "thou", "± thou", "at fret"])
    for string, relief in enumerate(shape.relief, start=1):
        depth, band = relief.relief_mm, 2.0 * relief.u_relief_mm
        numbers = [fixed(depth, 3), fixed(band, 3), fixed(thou(depth), 1), fixed(thou(band), 1)]
        table.add_row(str(string), *numbers, str(relief.at_fret or "-"))
    console.print(table)
    say(console, "thou: thousandths of an inch; ±: twice the standard uncertainty", "dim")
    say(console, relief_sentence(shape))


def relief_sentence(shape: Shape) -> str:
    """How much relief there is and whether it matters."""
    depths = np.array([relief.relief_mm for relief in shape.relief])
    known = depths[np.isfinite(depths)]
    if known.size == 0:
        return "Relief is not known: fret 1 or the body-joint fret was not seen."
    low, high = float(known.min()), float(known.max())
    said = f"Relief runs from {fixed(low, 2)} to {fixed(high, 2)} mm"
    if shape.state == "unstrung":
        return f"{said}; without the strings' pull this says little about how the neck plays."
    usual = f"about {USUAL_RELIEF_MM[0]} to {USUAL_RELIEF_MM[1]} mm is usual (common practice)"
    if low < 0:
        return f"{said}: the neck bows back under at least one string; {usual}."
    if high > USUAL_RELIEF_MM[1]:
        return f"{said}: more than usual; {usual}. The rod comes before any file."
    if low < USUAL_RELIEF_MM[0]:
        return f"{said}: less than usual under at least one string; {usual}."
    return f"{said}: no matter; {usual}."


def twist_sentence(shape: Shape, instrument: Instrument) -> str:
    """The board's turn, how well it is known and by what, and as a lift of the outer strings."""
    if not np.isfinite(shape.twist_mrad):
        return "Twist is not known: too few lanes."
    joint = instrument.body_joint_fret
    y = shape.y_mm[joint - 1]
    lift = 1e-3 * shape.twist_mrad * float(y.max() - y.min())
    said = (
        f"Twist {fixed(shape.twist_mrad, 2)} ± {fixed(2 * shape.u_twist_mrad, 2)} mrad between "
        f"the nut and fret {joint}{_known_by(shape)}: one outer string {fixed(abs(lift), 3)} mm "
        "against the other"
    )
    if abs(lift) < SMALL_TWIST_MM:
        return f"{said}; the saddles take that up (common practice)."
    if abs(lift) < LARGE_TWIST_MM:
        return f"{said}; saddles and plan can allow for it (common practice)."
    return f"{said}; that is much: have a trained eye look before any metal comes off."


def _known_by(shape: Shape) -> str:
    scan, whole = shape.u_twist_scan_mrad, shape.u_twist_mrad
    if not (np.isfinite(scan) and scan < whole):
        return ""
    return f" (± {fixed(2 * scan, 2)} by the scan, the rest for a twist of the rail itself)"


def radius_sentence(shape: Shape, instrument: Instrument) -> str:
    """The board's radius against the one in the instrument's file."""
    nut, last = shape.board_radius_mm
    given = instrument.board_radius_mm
    if not (nut < NO_ARC_MM and last < NO_ARC_MM):
        return "Board radius: flat, or seen by too few lanes to tell."
    places = ("at the nut", f"at fret {instrument.frets}")
    found = [
        f"{fixed(radius, 1)}{_band(u)} mm {place}"
        for radius, u, place in zip((nut, last), shape.u_board_radius_mm, places, strict=True)
    ]
    said = f"Board radius {' and '.join(found)}; the file says {given[0]:.0f} and {given[1]:.0f} mm"
    off = max(abs(nut / given[0] - 1.0), abs(last / given[1] - 1.0))
    if off > RADIUS_SHARE:
        return f"{said}: more than a tenth apart, check the file before planning cuts."
    return f"{said}: near enough."


def _band(u: float) -> str:
    return f" ± {fixed(2 * u, 1)}" if np.isfinite(u) else ""
