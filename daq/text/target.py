"""What a plan was asked for beside the player's wishes, and what of it could not be had."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from analysis.instrument import FloatArray
from analysis.plan.target import AskedShape, Held, Target
from daq.text.words import fixed, listed, named, signed

#: Less than this is not told, mm.
NOTHING_MM = 5e-4


def target_sentences(target: Target) -> list[str]:
    """One for each thing asked; none where the plan is free."""
    said = [f"Left as it is: {listed([f'the {one}' for one in sorted(target.keep)])}."]
    said = said if target.keep else []
    if target.turns is not None:
        way = "tightened" if target.turns >= 0 else "loosened"
        said.append(f"Asked: the rod {way} by {fixed(abs(target.turns), 2)} of a turn.")
    said += _set("saddles", target.saddle_mm) + _set("nut", target.nut_mm)
    if target.held:
        said.append(f"Held back, not to be cut: {held_words(target.held)}.")
    return said if target.shape is None else [*said, _shape(target.shape)]


def held_words(held: Held) -> str:
    """fret 3; strings 5 and 6; fret 7 under string 2."""
    words = [named("fret", held.frets)] if held.frets else []
    words += [named("string", held.strings)] if held.strings else []
    return listed([*words, *(f"fret {f} under string {s}" for f, s in sorted(held.places))])


def shape_short_sentences(short_mm: FloatArray) -> list[str]:
    """Where the asked-for shape is out of reach. short_mm: [frets, strings]."""
    if not short_mm.size or not np.max(short_mm) > NOTHING_MM:
        return []
    fret, string = np.unravel_index(int(np.argmax(short_mm)), short_mm.shape)
    frets = np.flatnonzero(np.any(short_mm > NOTHING_MM, axis=1)) + 1
    return [
        f"The asked-for shape is out of reach at {named('fret', frets.tolist())}: at the worst "
        f"fret {fret + 1} stays {fixed(1e3 * float(short_mm[fret, string]), 0)} µm above it under "
        f"string {string + 1}, for no more may come off there."
    ]


def _set(what: str, changes_mm: Mapping[int, float]) -> list[str]:
    if not changes_mm:
        return []
    each = [f"string {s} {signed(changes_mm[s], 2)}" for s in sorted(changes_mm)]
    return [f"Asked of the {what}, mm, up positive: {', '.join(each)}."]


def _shape(shape: AskedShape) -> str:
    first, last = shape.frets
    ends = " and ".join(
        f"{signed(1e3 * off, 0)} µm off the top of fret {fret}"
        for fret, off in zip(shape.frets, shape.off_mm, strict=True)
    )
    hollow = f", {fixed(1e3 * shape.hollow_mm, 0)} µm hollow midway" if shape.hollow_mm else ""
    return f"Asked: no top from fret {first} to fret {last} above the line {ends}{hollow}."
