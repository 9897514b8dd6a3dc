"""After the cut in pictures: planned against achieved with the law's line; relief as predicted."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis.after.law import Law
from analysis.after.strung import StringRelief
from analysis.after.verify import Cut
from analysis.instrument import FloatArray
from daq.figures.axes import BARE_TOP, Frame, bars, framed, heading, size_of, x_axis, y_axis
from daq.figures.boardmap import Cell, legend_rows
from daq.figures.cells import figure
from daq.figures.html import Html, joined, tag
from daq.figures.picture import Picture
from daq.figures.svg import drawing, label, line_through, number, path
from daq.text.law import gain_words
from daq.text.verify import MARKS

_HEIGHT = 260.0
#: A verdict's colour; its sign differs too.
_KINDS = {"within": "q4", "under": "q2", "over": "buzzes", "undecided": "undecided"}


def achieved_figure(cuts: Sequence[Cut], law: Law | None, u_meant_um: float) -> Html:
    """`achieved_picture` under what it shows; nothing where no cut was seen."""
    found = achieved_picture(cuts, law, u_meant_um)
    return Html("") if found is None else figure(found.title, found.words, found.svg)


def achieved_picture(cuts: Sequence[Cut], law: Law | None, u_meant_um: float) -> Picture | None:
    """Each cut as a point with bars both ways, the line of what was planned, the law's line.

    u_meant_um: how well it is known what was meant. None where no cut was seen.
    """
    known = [cut for cut in cuts if np.isfinite(cut.achieved_um)]
    if not known:
        return None
    high = 1.1 * max(max(c.planned_um, c.achieved_um + 2.0 * c.u_achieved_um) for c in known)
    low = min(0.0, 1.1 * min(c.achieved_um - 2.0 * c.u_achieved_um for c in known))
    frame = framed((0.0, high), (low, high), _HEIGHT, top=BARE_TOP)
    title = "Planned against achieved, µm"
    words = (
        "A point for each cut: across, what was planned; up, what came off. Bars: twice the "
        "standard uncertainty, both ways where it can be seen. On the broken line as much came off "
        "as was planned; over it more. A square: within what was planned; a triangle down: under; "
        "up: over; a lozenge: undecided."
    )
    legend, bottom = legend_rows(_legend(known), frame.right, frame.base + 49.0)
    if law is not None:
        words += f" The band: the removal law, {gain_words(law)} of what is meant, ± twice."
    drawn = drawing(
        title,
        words,
        (size_of(frame)[0], bottom),
        y_axis(frame, "came off, µm"),
        x_axis(frame, "planned, µm"),
        _law(frame, law) if law is not None else Html(""),
        path(_line(frame, np.array([0.0, high]), np.array([0.0, high])), "carried"),
        path(bars(frame, [(c.planned_um, c.achieved_um, 2.0 * c.u_achieved_um) for c in known]),
             "whisker"),
        path(_across(frame, known, 2.0 * u_meant_um), "whisker"),
        *(_signs(frame, known, verdict) for verdict in MARKS),
        legend,
    )  # fmt: skip
    return Picture(title, words, drawn)


def _legend(cuts: Sequence[Cut]) -> list[Cell]:
    return [
        Cell(f"{MARKS[verdict]} {verdict}", kind)
        for verdict, kind in _KINDS.items()
        if any(cut.verdict == verdict for cut in cuts)
    ]


def _line(frame: Frame, x: FloatArray, y: FloatArray) -> str:
    return line_through(zip(frame.x.all_at(x).tolist(), frame.y.all_at(y).tolist(), strict=True))


def _law(frame: Frame, law: Law) -> Html:
    """The tool's line with twice the uncertainty of where it lies, over the depths it has seen."""
    x = np.linspace(law.shallowest_um, min(law.deepest_um, frame.x.high), 30)
    x = x[x <= frame.x.high]
    if x.size < 2:
        return Html("")
    middle = law.offset_um + law.gain * x
    shared = 2.0 * law.correlation * law.u_gain * law.u_offset_um
    half = 2.0 * np.sqrt(law.u_offset_um**2 + shared * x + law.u_gain**2 * x**2)
    inside = [np.clip(one, frame.y.low, frame.y.high) for one in (middle - half, middle + half)]
    around_x = np.concatenate([x, x[::-1]])
    around = _line(frame, around_x, np.concatenate([inside[0], inside[1][::-1]]))
    return joined(path(f"{around}z", "band-strung"), path(_line(frame, x, middle), "line-strung"))


def _across(frame: Frame, cuts: Sequence[Cut], half_um: float) -> str:
    """Bars the other way."""
    return "".join(
        f"M{number(frame.x.clipped(c.planned_um - half_um))} {number(frame.y.at(c.achieved_um))}"
        f"H{number(frame.x.clipped(c.planned_um + half_um))}"
        for c in cuts
    )


def _signs(frame: Frame, cuts: Sequence[Cut], verdict: str) -> Html:
    """A square within, a triangle down under, up over, a lozenge undecided."""
    shape = {
        "within": [(-3.5, -3.5), (3.5, -3.5), (3.5, 3.5), (-3.5, 3.5)],
        "under": [(-4.5, -3.5), (4.5, -3.5), (0.0, 4.5)],
        "over": [(-4.5, 3.5), (4.5, 3.5), (0.0, -4.5)],
        "undecided": [(-4.5, 0.0), (0.0, -4.5), (4.5, 0.0), (0.0, 4.5)],
    }[verdict]
    mine = [cut for cut in cuts if cut.verdict == verdict]
    at = [(frame.x.at(cut.planned_um), frame.y.at(cut.achieved_um)) for cut in mine]
    drawn = "".join(line_through([(x + a, y + b) for a, b in shape], closed=True) for x, y in at)
    return path(drawn, f"{_KINDS[verdict]} sign-edge")


def relief_figure(relief: Sequence[StringRelief]) -> Html:
    """Each string's relief, predicted and measured, with bars of twice the uncertainty."""
    known = [one for one in relief if np.isfinite(one.measured_mm)]
    if not known:
        return Html("")
    ends = [
        value + way * 2.0 * u
        for one in known
        for value, u in ((one.predicted_mm, one.u_predicted_mm),
                         (one.measured_mm, one.u_measured_mm))
        for way in (-1.0, 1.0)
    ]  # fmt: skip
    room = 0.1 * (max(ends) - min(ends))
    frame = framed((0.5, len(relief) + 0.5), (min(*ends, 0.0) - room, max(ends) + room), 140.0)
    title = "Relief of the strung neck, predicted and measured"
    words = (
        "Left of each pair, open: as predicted; right, filled: as measured at the end. Bars: twice "
        "the standard uncertainty."
    )
    states = [
        ("unstrung", -0.14, [(one.string, one.predicted_mm, one.u_predicted_mm) for one in known]),
        ("strung", 0.14, [(one.string, one.measured_mm, one.u_measured_mm) for one in known]),
    ]
    numbers = [
        label(str(one.string), frame.x.at(float(one.string)), frame.base + 19.0) for one in relief
    ]
    drawn = drawing(
        title,
        words,
        size_of(frame),
        heading("relief, mm"),
        y_axis(frame, "relief, mm"),
        *(_dots(frame, state, aside, rows) for state, aside, rows in states),
        path(f"M{number(frame.x.start)} {number(frame.base)}H{number(frame.right)}", "axis"),
        tag("g", *numbers, class_="mid"),
        label("string", 0.5 * (frame.x.start + frame.right), frame.base + 39.0, "soft mid"),
    )
    return figure(title, words, drawn)


def _dots(frame: Frame, state: str, aside: float, rows: Sequence[tuple[int, float, float]]) -> Html:
    at = [(string + aside, value, 2.0 * u) for string, value, u in rows]
    dots = "".join(f"M{number(frame.x.at(x))} {number(frame.y.at(y))}h0" for x, y, _ in at)
    hollow = path(dots, "hole") if state == "unstrung" else Html("")
    return joined(path(bars(frame, at), f"bar-{state}"), path(dots, f"dot-{state}"), hollow)
