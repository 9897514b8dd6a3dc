"""One string from nut to saddle over its frets, before and after, heights drawn larger."""

from __future__ import annotations

import numpy as np

from analysis.instrument import FloatArray
from analysis.plan.setup import Setup
from analysis.plan.tight import Tight, TightStrings
from daq.figures.axes import Frame, framed, fret_axis, heading, size_of, x_axis, y_axis
from daq.figures.html import Html, joined
from daq.figures.notes import Box, Note, written
from daq.figures.svg import drawing, line_through, number, path
from daq.text.tight import held_words

_HEIGHT = 190.0
#: A line is taken for so many points, for words to keep off.
_INK = 150

Line = list[tuple[float, float]]


def side_view(strings: TightStrings, one: Tight, cut: bool) -> Html:
    """Tops, the open string, the string held where it has least room, and its swing."""
    s, setup = one.string - 1, strings.after if cut else strings.before
    frame = _frame(strings, s)
    joint = setup.instrument.body_joint_fret
    per_mm = frame.x.at(1.0) - frame.x.at(0.0)
    larger = (frame.y.at(0.0) - frame.y.at(1.0)) / per_mm
    title = f"{held_words(one)}, nut to saddle; heights {larger:.0f} times lengths"
    held = _held(setup, one)
    words = (
        "The frets' tops under this string as bars, the open string as a line from the nut to its "
        "saddle, the string held where it has least room and its swing."
    )
    return drawing(
        title,
        words,
        size_of(frame),
        heading(title),
        y_axis(frame, "height, mm", 5),
        x_axis(frame, "from the nut, mm"),
        fret_axis(frame, setup.x_mm[:, s], [1, joint, setup.frets]),
        path(_swing(frame, setup, one), "swing"),
        path(_frets(frame, setup.x_mm[:, s], setup.top_mm[:, s]), "post"),
        _open(frame, strings.before, s, "open-was") if cut else Html(""),
        _open(frame, setup, s, "open"),
        path(_points(frame, held), "string"),
        _said(frame, strings, one, cut),
    )


def _frame(strings: TightStrings, s: int) -> Frame:
    """Both states fit; the frets stand on its foot."""
    both = (strings.before, strings.after)
    high = max(float(one.saddle_mm[s]) for one in both)
    low = min(float(np.nanmin(one.top_mm[:, s])) for one in both)
    room = 0.1 * (high - low)
    saddle = float(strings.before.saddle_x_mm[s])
    return framed((-8.0, saddle + 8.0), (low - 3.0 * room, high + room), _HEIGHT)


def _held(setup: Setup, one: Tight) -> Line:
    s = one.string - 1
    z = setup.nut_mm[s] if one.fretted == 0 else setup.top_mm[one.fretted - 1, s]
    return [(one.start_x_mm, float(z)), (float(setup.saddle_x_mm[s]), float(setup.saddle_mm[s]))]


def _points(frame: Frame, points: Line) -> str:
    return line_through([(frame.x.at(x), frame.y.at(z)) for x, z in points])


def _swing(frame: Frame, setup: Setup, one: Tight) -> str:
    """From the string down to the lowest it comes over each fret beyond."""
    (x0, z0), (x1, z1) = _held(setup, one)
    x = np.concatenate([[x0], one.x_mm])
    rest = z0 + (x - x0) / (x1 - x0) * (z1 - z0)
    low = rest - np.concatenate([[0.0], one.swing_mm])
    around = [*zip(x, rest, strict=True), *zip(x[::-1], low[::-1], strict=True)]
    return line_through([(frame.x.at(a), frame.y.at(b)) for a, b in around], closed=True)


def _frets(frame: Frame, x_mm: FloatArray, top_mm: FloatArray) -> str:
    base, seen = number(frame.base), np.isfinite(top_mm)
    tops = zip(frame.x.all_at(x_mm[seen]).tolist(), top_mm[seen].tolist(), strict=True)
    return "".join(f"M{number(x)} {base}V{number(frame.y.at(z))}" for x, z in tops)


def _ends(setup: Setup, s: int) -> Line:
    """The open string from nut to saddle."""
    return [
        (float(setup.nut_x_mm[s]), float(setup.nut_mm[s])),
        (float(setup.saddle_x_mm[s]), float(setup.saddle_mm[s])),
    ]


def _open(frame: Frame, setup: Setup, s: int, kind: str) -> Html:
    ends = _ends(setup, s)
    posts = "".join(
        f"M{number(frame.x.at(x))} {number(frame.base)}V{number(frame.y.at(z))}" for x, z in ends
    )
    return joined(path(_points(frame, ends), kind), path(posts, "nut"))


def _said(frame: Frame, strings: TightStrings, one: Tight, cut: bool) -> Html:
    """Each line by its name, off the lines."""
    s, setup = one.string - 1, strings.after if cut else strings.before
    lines = [_ends(setup, s), _held(setup, one)] + ([_ends(strings.before, s)] if cut else [])
    ink = np.concatenate([_along(frame, line) for line in lines])
    x, y = _along(frame, lines[0])[_INK // 3]
    notes = [Note("open string", float(x), float(y), "soft", led=False)]
    if one.fretted:
        x, y = _along(frame, lines[1])[_INK // 2]
        name = held_words(one).split(" ", 2)[2]
        notes.append(Note(name, float(x), float(y) + 6.0, "say-strung", led=False))
    area = Box(frame.x.start, frame.top + 1.0, frame.right, frame.base - 1.0)
    return written(notes, area, ink)


def _along(frame: Frame, ends: Line) -> FloatArray:
    """[points, 2] in the drawing's units."""
    (x0, z0), (x1, z1) = ends
    share = np.linspace(0.0, 1.0, _INK)
    x, z = x0 + share * (x1 - x0), z0 + share * (z1 - z0)
    return np.column_stack([frame.x.all_at(x), frame.y.all_at(z)])
