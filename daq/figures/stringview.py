"""One string where it is held, from close by: heights from the lowest that its swing comes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray
from analysis.plan.tight import Tight
from daq.figures.axes import Frame, bars, framed, y_axis
from daq.figures.clip import Point, area_within, line_within
from daq.figures.html import Html, joined, tag
from daq.figures.svg import box, label, line_through, number, path

#: So many frets beyond the finger are drawn at least, and so many past the worst of them.
_FEWEST, _PAST = 7, 3
#: The picture reaches so many times as deep as what matters in it: guard, cut, what touches; mm.
_DEEP, _LEAST_DEEP_MM = 3.0, 0.06
#: Room for a cross over a fret's top, in the drawing's units.
_CROSS = 15.0
#: Heights that differ by less are the same; no frame is narrower than this has room in, mm.
_SAME_MM, _LEAST_WIDE_MM = 1e-6, 10.0
#: A crown's half width, mm, and what is drawn of it at least, in the drawing's units.
_HALF_MM, _HALF_LEAST = 1.1, 4.0


@dataclass(frozen=True, slots=True)
class Near:
    """A string's place in its frame. inside: which of the frets beyond the finger are in it.

    now_mm, after_mm: fret tops over the lowest that the swing comes, negative under it.
    """

    tight: Tight
    inside: slice
    now_mm: FloatArray
    after_mm: FloatArray
    frame: Frame

    @property
    def held(self) -> bool:
        """The place where the string is held is in the picture."""
        return bool(self.inside.start == 0)

    def line(self, height_mm: FloatArray) -> list[Point]:
        """Heights over the string's swing, in the drawing's units; where it is held it has none."""
        x, height = self.tight.x_mm[self.inside], height_mm[self.inside]
        if self.held:
            x, height = np.append(self.tight.start_x_mm, x), np.append(0.0, height)
        at = self.frame.x.all_at(x).tolist(), self.frame.y.all_at(height).tolist()
        return list(zip(*at, strict=True))


def changes(tight: Tight) -> bool:
    """The plan makes an after that is not now."""
    return bool(np.any(np.abs(tight.after_mm - tight.now_mm) > _SAME_MM))


def near(
    tight: Tight,
    height: float,
    left: float,
    right: float,
    top: float,
    frets: tuple[int, int] | None = None,
) -> Near:
    """A frame round the fret with least room, now and afterwards, or round the frets given."""
    now, after = tight.swing_mm - tight.now_mm, tight.swing_mm - tight.after_mm
    inside = _inside(tight, frets)
    guard = float((tight.wanted_mm - tight.swing_mm)[inside].max())
    over = max(float(now[inside].max()), 0.0)
    matters = max(guard, over, float(tight.cut_mm[inside].max()))
    deep = max(_DEEP * matters, -1.2 * float(after[inside].max()), _LEAST_DEEP_MM)
    # a cross stands over what touches
    share = _CROSS / height
    high = max((over + share * deep) / (1.0 - share) if over else 0.0, 0.25 * deep)
    x = tight.x_mm[inside]
    first = tight.start_x_mm if inside.start == 0 else float(x[0])
    air = 0.06 * max(float(x[-1]) - first, _LEAST_WIDE_MM)
    frame = framed(
        (first - air, float(x[-1]) + air), (-deep, high), height, left=left, right=right, top=top
    )
    return Near(tight, inside, now, after, frame)


def _inside(tight: Tight, frets: tuple[int, int] | None) -> slice:
    """Which of the frets beyond are drawn; always one at least."""
    if frets is None:
        worst = max(tight.worst(tight.now_mm), tight.worst(tight.after_mm))
        return slice(0, min(max(worst + 1 + _PAST, _FEWEST), tight.at.size))
    # the finger itself is drawn where the first fret asked for is not past it
    first = int(np.searchsorted(tight.at, frets[0]))
    last = int(np.searchsorted(tight.at, frets[1], side="right"))
    first = min(first, tight.at.size - 1)
    return slice(first, max(last, first + 1))


def near_panel(one: Near, *, unit: str = "") -> Html:
    """unit: with it the picture is large, and each fret has a bar of twice its uncertainty."""
    tight, frame = one.tight, one.frame
    zero, start = number(frame.y.at(0.0)), number(frame.x.start)
    nothing = np.zeros_like(tight.swing_mm)
    ideal, cut = one.line(tight.swing_mm - tight.needed_mm), changes(tight)
    tops = one.after_mm if cut else one.now_mm
    return joined(
        y_axis(frame, unit, 4),
        path(box(frame.x.start, frame.top, frame.right - frame.x.start,
                 frame.y.at(0.0) - frame.top), "swing"),
        _band(one, nothing, tight.swing_mm - tight.wanted_mm, "guard"),
        path("".join(line_through(piece) for piece in line_within(ideal, frame)), "ideal"),
        path(_crowns(one, tops), "crown-fret"),
        path(_removed(one), "removed") if cut else Html(""),
        path(_unsure(one, tops), "whisker") if unit else Html(""),
        path(_was(one), "was") if cut else Html(""),
        path(_crosses(one), "touches"),
        path(f"M{start} {zero}H{number(frame.right)}", "string"),
        path(f"M{start} {number(frame.base)}H{number(frame.right)}", "axis"),
        _numbers(one),
    )  # fmt: skip


def _unsure(one: Near, top_mm: FloatArray) -> str:
    """Bars of twice the standard uncertainty of the room over each fret."""
    x, u = one.tight.x_mm, one.tight.u_mm
    seen = [i for _, _, i in _in_view(one, top_mm)]
    return bars(one.frame, [(float(x[i]), float(top_mm[i]), 2.0 * float(u[i])) for i in seen])


def _band(one: Near, upper_mm: FloatArray, lower_mm: FloatArray, kind: str) -> Html:
    around = one.line(upper_mm) + one.line(lower_mm)[::-1]
    return path(line_through(area_within(around, one.frame), closed=True), kind)


def _in_view(one: Near, top_mm: FloatArray) -> list[tuple[float, float, int]]:
    """(x, y, index) of the frets whose tops are in the picture."""
    frame, x = one.frame, one.tight.x_mm
    inside = range(one.inside.start, one.inside.stop)
    seen = [i for i in inside if top_mm[i] > frame.y.low]
    return [(frame.x.at(float(x[i])), frame.y.clipped(float(top_mm[i])), i) for i in seen]


def _half(one: Near) -> float:
    return max(_HALF_MM * (one.frame.x.at(1.0) - one.frame.x.at(0.0)), _HALF_LEAST)


def _crowns(one: Near, top_mm: FloatArray) -> str:
    """Frets from the picture's foot up to their tops, rounded."""
    half, out = _half(one), []
    for x, y, _ in _in_view(one, top_mm):
        shoulder = min(y + 0.6 * half, one.frame.base)
        left, right = number(x - half), number(x + half)
        foot, edge = number(one.frame.base), number(shoulder)
        curve = f"Q{left} {number(y)} {number(x)} {number(y)}Q{right} {number(y)} {right} {edge}"
        out.append(f"M{left} {foot}V{edge}{curve}V{foot}z")
    return "".join(out)


def _removed(one: Near) -> str:
    """What comes off, standing on what stays, as high as the heights are drawn."""
    half, out = _half(one), []
    for x, y, i in _in_view(one, one.after_mm):
        cut = float(one.tight.cut_mm[i])
        if cut > 0.0:
            high = one.frame.y.clipped(float(one.after_mm[i]) + cut)
            out.append(box(x - half, high, 2.0 * half, y - high))
    return "".join(out)


def _was(one: Near) -> str:
    """Where each top lies under the swing as it is: an open lozenge."""
    return "".join(
        line_through([(x - 4.0, y), (x, y - 4.0), (x + 4.0, y), (x, y + 4.0)], closed=True)
        for x, y, _ in _in_view(one, one.now_mm)
    )


def _crosses(one: Near) -> str:
    """Over each fret that the swing reaches as the neck is."""
    return "".join(
        f"M{number(x - 4.0)} {number(y - 13.0)}l8 8m0-8l-8 8"
        for x, y, i in _in_view(one, one.now_mm)
        if one.now_mm[i] > 0.0
    )


def _numbers(one: Near) -> Html:
    """Fret numbers under the picture, and where the string is held."""
    tight, frame = one.tight, one.frame
    foot = frame.base + 19.0
    inside = range(one.inside.start, one.inside.stop)
    frets = [label(str(tight.at[i]), frame.x.at(float(tight.x_mm[i])), foot) for i in inside]
    if one.held:
        name = "nut" if tight.fretted == 0 else str(tight.fretted)
        frets.append(label(name, frame.x.at(tight.start_x_mm), foot, "soft"))
    return tag("g", *frets, class_="mid")
