"""One string's tops before and after filing: two lines over the same chord."""

from __future__ import annotations

import numpy as np

from analysis.after.laid import LaidOver
from analysis.instrument import FloatArray
from daq.figures.axes import (
    BARE_TOP,
    LEFT,
    WIDTH,
    Frame,
    bars,
    framed,
    fret_axis,
    size_of,
    x_axis,
    y_axis,
)
from daq.figures.html import Html, joined
from daq.figures.key import ACROSS, DOT, UPRIGHT, Key, key_rows
from daq.figures.picture import Picture
from daq.figures.svg import box, drawing, line_through, number, path

_HEIGHT = 200.0
#: Heights over the chord are drawn no larger than so many µm deserve, from foot to top; room
#: over and under them.
_LEAST_UM, _AIR = 40.0, 0.1
#: The two lines' bars stand so far aside of their dots, or one would hide the other.
_ASIDE = 2.5


def filed_lines(string: int, laid: LaidOver, joint: int) -> Picture | None:
    """joint: the body-joint fret. None where fret 1 or the joint's was not seen before."""
    x = laid.x_mm
    before, after = (_over_chord_um(laid, z, joint) for z in (laid.before_mm, laid.after_mm))
    if not np.isfinite(before).any():
        return None
    title = f"String {string}: its tops before and after, µm over the chord before"
    words = (
        f"Zero is the straight line through frets 1 and {joint} as they were before, for both "
        "lines; the scans are laid over one another by the board and by the frets that nothing "
        "was planned for. Open dots, broken line: before. Filled: after. Bars: twice the standard "
        "uncertainty; those of after with how well the two lie over one another."
    )
    rows = [(before, 2e3 * laid.u_before_mm), (after, 2e3 * laid.u_after_mm)]
    frame = _frame(x, rows)
    keys = [
        Key("before, ± twice u", [(ACROSS, "line-now"), (UPRIGHT, "bar-now"), (DOT, "dot-now"),
                                  (DOT, "hole")]),
        Key("after, ± twice u", [(ACROSS, "line-after"), (UPRIGHT, "whisker"),
                                 (DOT, "dot-after")]),
    ]  # fmt: skip
    legend, end = key_rows(keys, size_of(frame)[1] + 2.0, LEFT)
    at = frame.x.at(float(x[joint - 1]))
    drawn = drawing(
        title,
        words,
        (WIDTH, end),
        path(box(at, frame.top, frame.right - at, frame.base - frame.top), "past"),
        y_axis(frame, "over the chord, µm"),
        x_axis(frame, "from the nut, mm"),
        fret_axis(frame, x, [1, joint, x.size]),
        path(f"M{number(frame.x.start)} {number(frame.y.at(0.0))}H{number(frame.right)}", "chord"),
        _drawn(frame, x, *rows[0], "now", -_ASIDE),
        _drawn(frame, x, *rows[1], "after", _ASIDE),
        legend,
    )
    return Picture(title, words, drawn)


def _over_chord_um(laid: LaidOver, z_mm: FloatArray, joint: int) -> FloatArray:
    """Over the line through the tops of fret 1 and the joint's as they were before."""
    x, before = laid.x_mm, laid.before_mm
    share = (x - x[0]) / (x[joint - 1] - x[0])
    return np.asarray(1e3 * (z_mm - before[0] - share * (before[joint - 1] - before[0])))


def _frame(x: FloatArray, rows: list[tuple[FloatArray, FloatArray]]) -> Frame:
    ends = np.concatenate([y + way * np.nan_to_num(bar) for y, bar in rows for way in (-1.0, 1.0)])
    low, high = float(np.nanmin([*ends, 0.0])), float(np.nanmax([*ends, 0.0]))
    span = max(high - low, _LEAST_UM)
    reach = (low - _AIR * span, high + _AIR * span)
    return framed((0.0, float(x[-1]) * 1.025), reach, _HEIGHT, top=BARE_TOP)


def _drawn(
    frame: Frame, x: FloatArray, y: FloatArray, bar: FloatArray, kind: str, aside: float
) -> Html:
    """A line through its dots, and their bars."""
    seen = np.isfinite(y)
    per_unit = (frame.x.high - frame.x.low) / (frame.x.stop - frame.x.start)
    rows = np.column_stack([x[seen] + aside * per_unit, y[seen], np.nan_to_num(bar[seen])])
    at = list(zip(frame.x.all_at(x[seen]).tolist(), frame.y.all_at(y[seen]).tolist(), strict=True))
    dots = "".join(f"M{number(a)} {number(b)}h0" for a, b in at)
    return joined(
        path(line_through(at), f"line-{kind}"),
        path(bars(frame, map(tuple, rows.tolist())), "bar-now" if kind == "now" else "whisker"),
        path(dots, f"dot-{kind}"),
        path(dots, "hole") if kind == "now" else Html(""),
    )
