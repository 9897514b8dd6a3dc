"""Along each string in words: S-shape, fall-away, frets that stand out, and whether it matters."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from rich.console import Console

from analysis.form.along import Along, Hump, room_mm
from analysis.instrument import FloatArray, Instrument
from analysis.neck.shape import Shape
from daq.text.console import bullets, heading, say
from daq.text.grid import plain_table
from daq.text.words import counted, fixed, named, signed, span_mm

#: A fret matters from a quarter of a string's room over the next fret on (own choice).
ROOM_SHARE = 0.25
#: An S or a tongue that rises by more is worth a look, mm (own choice).
S_MM = 0.03
RISES_MM = 0.1
#: A tongue that falls away by less does no harm (common practice, no source).
FALLS_MM = 0.3


def print_along(
    console: Console, along: Sequence[Along], shape: Shape, instrument: Instrument
) -> None:
    """One line a string, then what stands out and whether it matters."""
    joint = instrument.body_joint_fret
    heading(console, f"Along, {shape.state}: the tops' smooth line under each string, mm")
    table = plain_table(["string", "S-shape", "±", "fall-away", "±", "frets' scatter"])
    for row in along_rows(along):
        table.add_row(*row)
    console.print(table)
    say(
        console,
        f"S-shape: + where the nut's half lies low; fall-away: of the last fret under the chord "
        f"from fret 1 to fret {joint} carried on; ±: twice the standard uncertainty",
        "dim",
    )
    bullets(console, along_sentences(along, shape, instrument))


def along_rows(along: Sequence[Along]) -> list[list[str]]:
    """String, S, ±, fall-away, ±, scatter, mm."""
    return [
        [
            str(one.string),
            signed(one.s_mm, 3),
            fixed(2.0 * one.u_s_mm, 3),
            signed(one.fall_away_mm, 3),
            fixed(2.0 * one.u_fall_away_mm, 3),
            fixed(one.scatter_mm, 3),
        ]
        for one in along
    ]


def along_sentences(along: Sequence[Along], shape: Shape, instrument: Instrument) -> list[str]:
    """S-shape, fall-away and what stands out; in an unstrung state what the strings will change."""
    if not any(np.isfinite(one.s_mm) for one in along):
        return ["Nothing is known along the strings: too few tops were seen."]
    said = [
        s_sentence(along),
        fall_sentence(along, instrument),
        *hump_sentences(along, room_mm(instrument)),
    ]
    if shape.state == "unstrung":
        said.append(
            "This is without the strings' pull: single frets stand as they are, S-shape and "
            "fall-away will be others once it is strung."
        )
    return said


def s_sentence(along: Sequence[Along]) -> str:
    """Whether any string's line is S-shaped."""
    clear = [one for one in along if abs(one.s_mm) > 2.0 * one.u_s_mm]
    if not clear:
        return "S-shape: none that the frets' own scatter does not explain."
    most = max(clear, key=lambda one: abs(one.s_mm))
    said = (
        f"S-shape under {named('string', [one.string for one in clear])}, up to "
        f"{fixed(abs(most.s_mm), 3)} ± {fixed(2.0 * most.u_s_mm, 3)} mm"
    )
    if abs(most.s_mm) - 2.0 * most.u_s_mm > S_MM:
        return f"{said}: it matters; no rod takes an S out, the plan has to."
    return f"{said}: little; the plan takes it into account."


def fall_sentence(along: Sequence[Along], instrument: Instrument) -> str:
    """How the frets past the joint lie against the chord, and whether that is in the way."""
    fall = np.array([one.fall_away_mm for one in along])
    u = np.array([one.u_fall_away_mm for one in along])
    known = np.isfinite(fall)
    past = f"Past fret {instrument.body_joint_fret}"
    if not known.any():
        return f"{past}: no tops were seen, so nothing is known of the fall-away."
    fall, u = fall[known], u[known]
    rises, falls = (span_mm(side.tolist()) if side.size else "" for side in _sides(fall))
    if np.any(-fall - 2.0 * u > RISES_MM):
        return (
            f"{past} the tops rise, by {rises} at the last fret: it matters, high notes choke "
            "first there."
        )
    if np.any(fall - 2.0 * u > FALLS_MM):
        return (
            f"{past} the tops fall away by {falls}: much; high notes are plucked over low frets "
            "there."
        )
    if np.all(fall > 0):
        return f"{past} the tops fall away by {falls}: no matter (common practice)."
    return f"{past} the tops keep within {fixed(float(np.max(np.abs(fall))), 2)} mm: no matter."


def _sides(fall: FloatArray) -> tuple[FloatArray, FloatArray]:
    """What rises, and what falls, both positive."""
    return -fall[fall < 0], fall[fall > 0]


def hump_sentences(along: Sequence[Along], room: FloatArray) -> list[str]:
    """Frets that stand out far enough to matter, one sentence a place; the rest counted.

    room: float[strings], mm, what a string fretted beside a fret clears it by.
    """
    found = [(one.string, hump) for one in along for hump in one.humps]
    if not found:
        return ["No fret and no stretch of frets stands out of the smooth lines."]
    matters = [pair for pair in found if _matters(*pair, room)]
    said = [_place(fret, high, matters) for fret, high in _places(matters)]
    clears = f"the {span_mm(room.tolist())} that a string fretted beside it clears it by"
    if matters:
        said.append(f"That matters: each is over a quarter of {clears} (own choice).")
        clears = "that"
    if rest := len(found) - len(matters):
        more = " more" if matters else ""
        stand = " stands" if rest == 1 else ", each under one string, stand"
        said.append(
            f"{counted(rest, 'place')}{more}{stand} out by less than a quarter of {clears}: "
            "no matter."
        )
    return said


def _matters(string: int, hump: Hump, room: FloatArray) -> bool:
    return abs(hump.height_mm) > ROOM_SHARE * float(room[string - 1])


def _places(found: Sequence[tuple[int, Hump]]) -> list[tuple[int, bool]]:
    """(fret, whether high), from the nut on."""
    return sorted({(hump.fret, hump.height_mm > 0.0) for _, hump in found})


def _place(fret: int, high: bool, found: Sequence[tuple[int, Hump]]) -> str:
    here = [
        (string, hump)
        for string, hump in found
        if hump.fret == fret and (hump.height_mm > 0.0) == high
    ]
    strings = named("string", [string for string, _ in here])
    first, last = min(h.first for _, h in here), max(h.last for _, h in here)
    what = named("fret", range(first, last + 1))
    heights = [abs(hump.height_mm) for _, hump in here]
    low, top = fixed(min(heights), 3), fixed(max(heights), 3)
    u = max(hump.u_mm for _, hump in here)
    return (
        f"{what[0].upper()}{what[1:]} stand{'s' if first == last else ''} "
        f"{'high' if high else 'low'} by {low if low == top else f'{low} to {top}'} mm, "
        f"± {fixed(2.0 * u, 3)}, under {strings}."
    )
