"""Twist drawn: how far the board's section has turned since the nut."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from analysis.board.arc import Arc
from analysis.instrument import FloatArray, Instrument
from analysis.neck.shape import Shape
from daq.figures.axes import Frame, framed, fret_axis, heading, middle_x_mm, size_of, x_axis, y_axis
from daq.figures.html import Html, joined
from daq.figures.notes import Box, Note, written
from daq.figures.svg import drawing, line_through, number, path
from daq.text.words import fixed

_HEIGHT = 150.0
#: The turn is drawn at so many places.
_PLACES = 61
#: No turn is drawn larger than it is worth, mrad either way.
_LEAST_MRAD = 0.5


def turn_chart(shapes: Sequence[Shape], arcs: Mapping[str, Arc], it: Instrument) -> Html:
    """The turn of the board's section from the nut on, with a band of twice its uncertainty.

    The band is the scan's own; what is written is the twist with all that is not known of it.
    """
    x = middle_x_mm(it)
    last, joint = float(x[-1]), float(x[it.body_joint_fret - 1])
    at = np.linspace(0.0, last, _PLACES)
    turns = {s.state: _turn(arcs[s.state], at) for s in shapes if s.state in arcs}
    high = max(
        _LEAST_MRAD, *(float(np.max(np.abs(t[:, 0]) + 2.0 * t[:, 1])) for t in turns.values())
    )
    frame = framed((0.0, last * 1.025), (-1.15 * high, 1.15 * high), _HEIGHT)
    zero = number(frame.y.at(0.0))
    return drawing(
        "Turn of the section along the neck",
        "Turn in mrad against the distance from the nut in mm; up: the treble side is higher.",
        size_of(frame),
        y_axis(frame, "turn from the nut, mrad"),
        x_axis(frame, "from the nut, mm"),
        fret_axis(frame, x, [1, it.body_joint_fret, it.frets]),
        heading("turn of the board's section"),
        path(f"M{number(frame.x.start)} {zero}H{number(frame.right)}", "chord"),
        path(f"M{number(frame.x.at(joint))} {number(frame.top)}V{number(frame.base)}", "joint"),
        *(_turned(frame, state, at, turn) for state, turn in turns.items()),
        _said(frame, shapes, turns, at, joint),
    )


def _turn(arc: Arc, at_mm: FloatArray) -> FloatArray:
    """[places, 2]: turn since the nut and its standard uncertainty, mrad."""
    return np.array([arc.twist_mrad(0.0, float(place)) for place in at_mm])


def _said(
    frame: Frame,
    shapes: Sequence[Shape],
    turns: Mapping[str, FloatArray],
    at: FloatArray,
    joint_mm: float,
) -> Html:
    """Each state's twist beside its line, off the lines and the joint's mark."""
    upright = np.arange(frame.top, frame.base, 4.0)
    inks = [np.column_stack([np.full_like(upright, frame.x.at(joint_mm)), upright])]
    notes = []
    for place, shape in enumerate(s for s in shapes if s.state in turns):
        line = np.column_stack([frame.x.all_at(at), frame.y.all_at(turns[shape.state][:, 0])])
        inks.append(line)
        twist, band = fixed(shape.twist_mrad, 2), fixed(2.0 * shape.u_twist_mrad, 2)
        x, y = line[int((0.4 + 0.2 * place) * (_PLACES - 1))].tolist()
        notes.append(
            Note(f"{shape.state}: {twist} ± {band} mrad at the joint", x, y, f"say-{shape.state}")
        )
    area = Box(frame.x.start, frame.top + 1.0, frame.right, frame.base - 1.0)
    return written(notes, area, np.concatenate(inks))


def _turned(frame: Frame, state: str, at: FloatArray, turn: FloatArray) -> Html:
    x = frame.x.all_at(at)
    low, high = turn[:, 0] - 2.0 * turn[:, 1], turn[:, 0] + 2.0 * turn[:, 1]
    around = np.concatenate([np.column_stack([x, frame.y.all_at(low)]),
                             np.column_stack([x, frame.y.all_at(high)])[::-1]])  # fmt: skip
    line = np.column_stack([x, frame.y.all_at(turn[:, 0])])
    return joined(
        path(line_through(map(tuple, around.tolist()), closed=True), f"band-{state}"),
        path(line_through(map(tuple, line.tolist())), f"line-{state}"),
    )
