"""String by string: the fret tops of both states over their chord, and what stands out."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis.instrument import FloatArray
from analysis.neck.relief import Relief
from daq.figures.axes import (
    BARE_TOP,
    TOP,
    Frame,
    bars,
    framed,
    fret_axis,
    heading,
    size_of,
    x_axis,
    y_axis,
)
from daq.figures.curves import Curve
from daq.figures.html import Html, joined
from daq.figures.notes import Box, Note, written
from daq.figures.svg import box, drawing, line_through, number, path
from daq.text.words import fixed, named, signed

_HEIGHT = 240.0
#: Curves are looked at this finely when words look for room, in units of the drawing.
_FINE = 4.0
#: A hump's size is told where there is room by its triangle; all are in the tables.
_HUMP_WORTH = 120.0


def profile(
    string: int,
    curves: Sequence[Curve],
    reach: tuple[float, float],
    joint: int,
    *,
    named: bool = True,
) -> Html:
    """One string: chord, both states, relief's deepest place, what is past the joint, humps.

    named: its name stands in it.
    """
    x = curves[0].x_mm
    frame = framed((0.0, float(x[-1]) * 1.025), reach, _HEIGHT, top=TOP if named else BARE_TOP)
    words = "; ".join(_words(curve) for curve in curves)
    area = Box(frame.x.start, frame.top + 1.0, frame.right, frame.base - 1.0)
    return drawing(
        f"String {string}: fret tops over the chord",
        f"Height over the chord in µm against the distance from the nut in mm. {words}.",
        size_of(frame),
        _past_joint(frame, float(x[joint - 1])),
        y_axis(frame, "height over the chord, µm"),
        x_axis(frame, "from the nut, mm"),
        fret_axis(frame, x, [1, joint, x.size]),
        heading(f"string {string}") if named else Html(""),
        _chord(frame, x, joint),
        *(_drawn(frame, curve) for curve in curves),
        _hump_signs(frame, _metal(curves)),
        written(_notes(frame, curves, joint), area, _ink(frame, curves)),
    )


def _words(curve: Curve) -> str:
    relief = curve.relief
    if not np.isfinite(relief.relief_mm):
        return f"{curve.state}: relief not known"
    return f"{curve.state}: {_depth(relief)} at fret {relief.at_fret}"


def _depth(relief: Relief) -> str:
    return f"relief {fixed(relief.relief_mm, 3)} ± {fixed(2 * relief.u_relief_mm, 3)} mm"


def _past_joint(frame: Frame, joint_mm: float) -> Html:
    left = frame.x.at(joint_mm)
    return path(box(left, frame.top, frame.right - left, frame.base - frame.top), "past")


def _chord(frame: Frame, x_mm: FloatArray, joint: int) -> Html:
    """From fret 1 to the joint; dotted where it is carried on."""
    zero = number(frame.y.at(0.0))
    first, last = (number(frame.x.at(float(x_mm[i]))) for i in (0, joint - 1))
    return joined(
        path(f"M{first} {zero}H{last}", "chord"),
        path(f"M{last} {zero}H{number(frame.right)}", "carried"),
    )


def _points(frame: Frame, curve: Curve) -> list[tuple[float, float, float]]:
    """Where x and y are known, and the bar beside them."""
    half = np.nan_to_num(curve.bar_um)
    rows = zip(curve.x_mm.tolist(), curve.y_um.tolist(), half.tolist(), strict=True)
    return [row for row in rows if np.isfinite(row[1])]


def _drawn(frame: Frame, curve: Curve) -> Html:
    known = _points(frame, curve)
    at = [(frame.x.at(x), frame.y.at(y)) for x, y, _ in known]
    dots = "".join(f"M{number(x)} {number(y)}h0" for x, y in at)
    hollow = path(dots, "hole") if curve.state == "unstrung" else Html("")
    return joined(
        _deepest(frame, curve),
        path(line_through(at), f"line-{curve.state}"),
        path(bars(frame, known), f"bar-{curve.state}"),
        path(dots, f"dot-{curve.state}"),
        hollow,
    )


def _deepest(frame: Frame, curve: Curve) -> Html:
    """From the chord down to the fret where relief is deepest."""
    if curve.relief.at_fret <= 0:
        return Html("")
    x, y = _at_fret(frame, curve, curve.relief.at_fret)
    zero = frame.y.at(0.0)
    foot = f"M{number(x - 3.0)} {number(zero)}h6"
    return path(f"M{number(x)} {number(zero)}V{number(y)}{foot}", f"bar-{curve.state}")


def _metal(curves: Sequence[Curve]) -> Curve:
    """Humps are the metal's and the wood's: told of the neck without the strings' pull."""
    return next((c for c in curves if c.state == "unstrung"), curves[0])


def _hump_signs(frame: Frame, curve: Curve) -> Html:
    """A triangle over what stands out high, under what lies low; a line along a stretch."""
    signs, stretches = [], []
    for hump in curve.along.humps if curve.along is not None else ():
        x, y = _at_fret(frame, curve, hump.fret)
        way = -1.0 if hump.height_mm > 0 else 1.0
        tip, foot = y + way * 6.0, y + way * 13.0
        signs.append(line_through([(x, tip), (x - 4.0, foot), (x + 4.0, foot)], closed=True))
        ends = [frame.x.at(float(curve.x_mm[fret - 1])) for fret in (hump.first, hump.last)]
        stretches.append(line_through((end, foot) for end in ends) if ends[0] < ends[1] else "")
    return joined(path("".join(signs), "sign"), path("".join(stretches), "chord"))


def _at_fret(frame: Frame, curve: Curve, fret: int) -> tuple[float, float]:
    y = float(curve.y_um[fret - 1])
    return frame.x.at(float(curve.x_mm[fret - 1])), frame.y.at(y if np.isfinite(y) else 0.0)


def _notes(frame: Frame, curves: Sequence[Curve], joint: int) -> list[Note]:
    """What is said in the picture, what matters most first."""
    x_mm = curves[0].x_mm
    middle = frame.x.at(float(x_mm[0] + 0.3 * (x_mm[joint - 1] - x_mm[0])))
    said = f"chord, fret 1 to {joint}"
    if not any(np.isfinite(curve.y_um).any() for curve in curves):
        said = f"the chord is not known: fret 1 or fret {joint} was not seen"
    notes = [Note(said, middle, frame.y.at(0.0))]
    for curve in curves:
        if curve.relief.at_fret > 0:
            x, y = _at_fret(frame, curve, curve.relief.at_fret)
            said = f"{curve.state}: {_depth(curve.relief)}"
            notes.append(Note(said, x, y, f"say-{curve.state}"))
    notes += [_fall_away(frame, curve) for curve in curves if _falls(curve)]
    metal = _metal(curves)
    humps = metal.along.humps if metal.along is not None else ()
    for hump in sorted(humps, key=lambda h: -abs(h.height_mm)):
        x, y = _at_fret(frame, metal, hump.fret)
        frets = named("fret", range(hump.first, hump.last + 1))
        said = f"{frets}: {signed(1e3 * hump.height_mm, 0)} µm"
        beside = -10.0 if hump.height_mm > 0 else 10.0
        notes.append(Note(said, x, y + beside, worth=_HUMP_WORTH))
    return notes


def _falls(curve: Curve) -> bool:
    return curve.along is not None and bool(np.isfinite(curve.along.fall_away_mm))


def _fall_away(frame: Frame, curve: Curve) -> Note:
    assert curve.along is not None
    depth, band = curve.along.fall_away_mm, 2.0 * curve.along.u_fall_away_mm
    x, y = _at_fret(frame, curve, curve.x_mm.size)
    way = "falls away" if depth >= 0.0 else "rises"
    said = f"{curve.state}: {way} {fixed(abs(depth), 3)} ± {fixed(band, 3)} mm"
    return Note(said, x, y, f"say-{curve.state}", led=False)


def _ink(frame: Frame, curves: Sequence[Curve]) -> FloatArray:
    """Points along the chord, the curves and the lines down to them, close together."""
    x = np.arange(frame.x.start, frame.right, _FINE)
    rows = [np.column_stack([x, np.full_like(x, frame.y.at(0.0))])]
    for curve in curves:
        if curve.relief.at_fret > 0:
            down, foot = _at_fret(frame, curve, curve.relief.at_fret)
            y = np.arange(frame.y.at(0.0), foot, _FINE)
            rows.append(np.column_stack([np.full_like(y, down), y]))
        known = np.array(_points(frame, curve)).reshape(-1, 3)
        if known.shape[0] > 1:
            at, y = frame.x.all_at(known[:, 0]), frame.y.all_at(known[:, 1])
            inside = x[(x >= at[0]) & (x <= at[-1])]
            rows.append(np.column_stack([inside, np.interp(inside, at, y)]))
    return np.concatenate(rows)
