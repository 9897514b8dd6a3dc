"""One string where it has least room, from close by: heights from the lowest its swing comes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray
from analysis.plan.tight import Tight
from daq.figures.axes import Frame, framed, y_axis
from daq.figures.html import Html, joined, tag
from daq.figures.svg import box, label, line_through, number, path

#: So many frets beyond the finger are drawn at least, and so many past the worst of them.
_FEWEST, _PAST = 7, 3
#: The picture reaches so many times as deep as what matters in it: guard, cut, what touches; mm.
_DEEP, _LEAST_DEEP_MM = 3.0, 0.06
#: Room for a cross over a fret's top, in the drawing's units.
_CROSS = 15.0
#: A crown's half width, mm, and what is drawn of it at least, in the drawing's units.
_HALF_MM, _HALF_LEAST = 1.1, 4.0


@dataclass(frozen=True, slots=True)
class Near:
    """A string's place in its frame. count: so many frets beyond the finger are in it.

    now_mm, after_mm: fret tops over the lowest that the swing comes, negative under it.
    """

    tight: Tight
    count: int
    now_mm: FloatArray
    after_mm: FloatArray
    frame: Frame

    @property
    def exaggerated(self) -> float:
        """How much larger heights are drawn than lengths."""
        x, y = self.frame.x, self.frame.y
        return (y.at(0.0) - y.at(1.0)) / (x.at(1.0) - x.at(0.0))

    def line(self, height_mm: FloatArray) -> list[tuple[float, float]]:
        """From where the string is held on, heights over its swing; there it has none."""
        x = np.concatenate([[self.tight.start_x_mm], self.tight.x_mm[: self.count]])
        height = np.concatenate([[0.0], height_mm[: self.count]])
        at = self.frame.x.all_at(x).tolist()
        return [(a, self.frame.y.clipped(h)) for a, h in zip(at, height.tolist(), strict=True)]


def near(tight: Tight, height: float, left: float, right: float, top: float) -> Near:
    """A frame round the fret with least room, now and afterwards."""
    now, after = tight.swing_mm - tight.now_mm, tight.swing_mm - tight.after_mm
    worst = max(tight.worst(tight.now_mm), tight.worst(tight.after_mm))
    count = min(max(worst + 1 + _PAST, _FEWEST), tight.at.size)
    inside = slice(0, count)
    guard = float((tight.wanted_mm - tight.swing_mm)[inside].max())
    over = max(float(now[inside].max()), 0.0)
    matters = max(guard, over, float(tight.cut_mm[inside].max()))
    deep = max(_DEEP * matters, -1.2 * float(after[inside].max()), _LEAST_DEEP_MM)
    # a cross stands over what touches
    share = _CROSS / height
    high = max((over + share * deep) / (1.0 - share) if over else 0.0, 0.25 * deep)
    span = float(tight.x_mm[count - 1]) - tight.start_x_mm
    reach = (tight.start_x_mm - 0.06 * span, float(tight.x_mm[count - 1]) + 0.06 * span)
    frame = framed(reach, (-deep, high), height, left=left, right=right, top=top)
    return Near(tight, count, now, after, frame)


def near_panel(one: Near, *, cut: bool, unit: str = "") -> Html:
    """cut: the plan changes something, so that there is an after to be drawn."""
    tight, frame = one.tight, one.frame
    zero, start = number(frame.y.at(0.0)), number(frame.x.start)
    nothing = np.zeros_like(tight.swing_mm)
    ceiling = np.full_like(tight.swing_mm, frame.y.high)
    ideal = tight.swing_mm - tight.needed_mm
    return joined(
        y_axis(frame, unit, 4),
        path(box(frame.x.start, frame.top, frame.right - frame.x.start,
                 frame.y.at(0.0) - frame.top), "swing"),
        _band(one, nothing, tight.swing_mm - tight.wanted_mm, "guard"),
        path(line_through(one.line(ideal)), "ideal") if np.any(ideal < ceiling) else Html(""),
        path(_crowns(one, one.after_mm if cut else one.now_mm), "crown-fret"),
        path(_removed(one), "removed") if cut else Html(""),
        path(_was(one), "was") if cut else Html(""),
        path(_crosses(one), "touches"),
        path(f"M{start} {zero}H{number(frame.right)}", "string"),
        path(f"M{start} {number(frame.base)}H{number(frame.right)}", "axis"),
        _numbers(one),
    )  # fmt: skip


def _band(one: Near, upper_mm: FloatArray, lower_mm: FloatArray, kind: str) -> Html:
    around = one.line(upper_mm) + one.line(lower_mm)[::-1]
    return path(line_through(around, closed=True), kind)


def _in_view(one: Near, top_mm: FloatArray) -> list[tuple[float, float, int]]:
    """(x, y, index) of the frets whose tops are in the picture."""
    frame, x = one.frame, one.tight.x_mm
    seen = [i for i in range(one.count) if top_mm[i] > frame.y.low]
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
    held = "nut" if tight.fretted == 0 else str(tight.fretted)
    foot = frame.base + 15.0
    frets = [
        label(str(tight.at[i]), frame.x.at(float(tight.x_mm[i])), foot) for i in range(one.count)
    ]
    start = frame.x.at(tight.start_x_mm)
    return tag("g", label(held, start, foot, "soft"), *frets, class_="mid")
