"""The neck seen from above, frets and strings where they are: how far tops lie off the chord."""

from __future__ import annotations

import numpy as np

from analysis.instrument import FloatArray, Instrument
from daq.figures.axes import (
    BARE_TOP,
    LEFT,
    TOP,
    WIDTH,
    heading,
    roomy,
    size_of,
    x_axis,
    y_axis,
)
from daq.figures.html import Html, joined, tag
from daq.figures.overhead import Plan, plan_frame
from daq.figures.palette import DIVERGING, SIDES
from daq.figures.scale import step_for, steps_of
from daq.figures.svg import box, drawing, label, line_through, number, path

#: Room under the axis for the legend.
_LEGEND = 68.0
_SWATCH_W, _SWATCH_H = 62.0, 16.0
#: Signs: triangles as high as the class is far from zero, never wider than their tile.
_SIGN_LOW, _SIGN_MORE, _SIGN_HALF = 3.0, 2.4, 4.2


def plan_map(
    title: str,
    words: str,
    over: str,
    values_um: FloatArray,
    it: Instrument,
    most_um: float,
    *,
    named: bool = True,
) -> Html:
    """values_um: [frets, strings], up; most_um: the largest that the scale must hold.

    over: what the values are measured from, as the legend names it. named: its name stands in it.
    """
    plan = Plan(it, plan_frame(it, TOP if named else BARE_TOP))
    step = step_for(most_um)
    steps = steps_of(values_um, step)
    joint = it.body_joint_fret
    width, height = size_of(plan.frame)
    return drawing(
        title,
        words,
        (width, height + _LEGEND),
        heading(title) if named else Html(""),
        x_axis(plan.frame, "from the nut, mm"),
        y_axis(plan.frame, "across, mm", 5),
        _outline(plan),
        *_tiles(plan, steps),
        _frets(plan),
        *_signs(plan, steps),
        path(line_through(plan.across(joint)), "joint"),
        label(f"body joint, fret {joint}", plan.across(joint)[1][0], plan.frame.base - 5.0, "mid"),
        _names(plan),
        _legend(step, over, height + 6.0),
    )


def _outline(plan: Plan) -> Html:
    strings = len(plan.it.strings)
    last = plan.it.frets + 0.5
    corners = [(0.0, 0.5), (last, 0.5), (last, strings + 0.5), (0.0, strings + 0.5)]
    return path(line_through([plan.point(f, s) for f, s in corners], closed=True), "past edge")


def _tiles(plan: Plan, steps: FloatArray) -> list[Html]:
    """One path for all tiles of a class; NaN is an empty, dashed one."""
    kinds = [(f"{name} tile", steps == n - SIDES) for n, name in enumerate(DIVERGING)]
    kinds.append(("blank", np.isnan(steps)))
    return [
        path("".join(_tile(plan, int(f), int(s)) for f, s in np.argwhere(where) + 1), kind)
        for kind, where in kinds
    ]


def _signs(plan: Plan, steps: FloatArray) -> list[Html]:
    """One path for the signs of a class; zero has none."""
    return [
        path(
            "".join(_sign(plan, int(f), int(s), level) for f, s in np.argwhere(steps == level) + 1),
            f"on-{name}",
        )
        for name, level in zip(DIVERGING, range(-SIDES, SIDES + 1), strict=True)
        if level
    ]


def _tile(plan: Plan, fret: int, string: int) -> str:
    around = [(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)]
    return line_through([plan.point(fret + f, string + s) for f, s in around], closed=True)


def _sign(plan: Plan, fret: int, string: int, level: int) -> str:
    x, y = plan.point(fret, string)
    room = plan.point(fret + 0.5, string)[0] - plan.point(fret - 0.5, string)[0]
    return triangle(x, y, level, min(_SIGN_HALF, 0.5 * room - 1.0))


def triangle(x: float, y: float, level: int, half: float = _SIGN_HALF) -> str:
    """Points up for what stands high, down for what lies low."""
    tall = _SIGN_LOW + _SIGN_MORE * abs(level)
    way = 1.0 if level > 0 else -1.0
    foot, tip = y + way * 0.5 * tall, y - way * 0.5 * tall
    return line_through([(x - half, foot), (x + half, foot), (x, tip)], closed=True)


def _frets(plan: Plan) -> Html:
    frets = range(1, plan.it.frets + 1)
    lines = "".join(line_through(plan.across(f)) for f in frets)
    return joined(path(lines, "wire"), path(line_through(plan.across(0)), "nut"))


def _names(plan: Plan) -> Html:
    """Fret numbers over the board, the nut, string numbers at its right end."""
    it = plan.it
    heads = np.array([plan.across(f)[0][0] for f in range(1, it.frets + 1)])
    top = plan.frame.top - 10.5
    frets = [label(str(i + 1), float(heads[i]), top) for i in roomy(heads, [1, it.frets])]
    right = plan.frame.right + 42.0
    strings = [
        label(str(s), right, plan.point(it.frets, s)[1] + 5.0)
        for s in range(1, len(it.strings) + 1)
    ]
    nut = plan.across(0)[0][0]
    return joined(
        tag("g", *frets, label("nut", nut, top, "soft"), class_="mid"),
        tag("g", *strings, label("string", right, top, "soft"), class_="mid"),
        label("fret", LEFT - 14.0, top, "soft end"),
    )


def _legend(step: float, over: str, top: float) -> Html:
    """The classes as one bar with its edges in µm; zero is in the middle."""
    left = 0.5 * (WIDTH - len(DIVERGING) * _SWATCH_W)
    parts = []
    for place, name in enumerate(DIVERGING):
        x, level = left + place * _SWATCH_W, place - SIDES
        parts.append(path(box(x, top, _SWATCH_W, _SWATCH_H), f"{name} tile"))
        middle = (x + 0.5 * _SWATCH_W, top + 0.5 * _SWATCH_H)
        parts.append(path(triangle(*middle, level), f"on-{name}") if level else Html(""))
    edges = [
        label(f"{(n - SIDES + 0.5) * step:+g}", left + (n + 1) * _SWATCH_W, top + 33.0)
        for n in range(len(DIVERGING) - 1)
    ]
    right = left + len(DIVERGING) * _SWATCH_W
    return joined(
        *parts,
        tag("g", *edges, label("0", 0.5 * (left + right), top + 33.0),
            label(f"µm over {over}", 0.5 * (left + right), top + 52.0, "soft"),
            class_="mid"),
        label("below", left - 8.0, top + 13.0, "soft end"),
        label("above", right + 8.0, top + 13.0, "soft"),
        path(f"M{number(0.5 * (left + right))} {number(top + _SWATCH_H)}v4", "axis"),
    )  # fmt: skip
