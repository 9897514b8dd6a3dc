"""One string before and after filing: what was to come off each fret beside what did."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis.after.verify import Cut
from daq.figures.axes import LEFT, RIGHT, WIDTH, Frame, bars, framed, y_axis
from daq.figures.html import Html, joined, tag
from daq.figures.key import UPRIGHT, Key, key_rows
from daq.figures.picture import Picture
from daq.figures.svg import TEXT, box, drawing, label, number, path, text_width
from daq.text.verify import MARKS
from daq.text.words import fixed

_HEIGHT = 180.0
#: Half a bar's width at most, and as a share of a fret's place.
_HALF, _SHARE = 11.0, 0.38
#: Room over the field for its name, and under it for the frets' numbers.
_TOP, _FOOT = 26.0, 30.0
_PLANNED, _CAME = "m4 1h18v13h-18z", "m4 4h18v10h-18z"


def filed_picture(string: int, cuts: Sequence[Cut], frets: int) -> Picture | None:
    """frets: of the instrument. None where nothing was to come off under this string."""
    mine = [cut for cut in cuts if cut.string == string]
    if not mine:
        return None
    title = f"String {string}: what was to come off and what did, µm"
    words = (
        "Open, broken outline: what was to come off. Filled: what came off by the scans before "
        "and after, with bars of twice its standard uncertainty. A fret without either was to stay "
        "as it is."
    )
    frame = _frame(mine, frets)
    keys = [
        Key("planned", [(_PLANNED, "meant")]),
        Key("came off, ± twice u", [(_CAME, "came-off"), (UPRIGHT, "whisker")]),
    ]
    legend, end = key_rows(keys, frame.base + _FOOT)
    drawn = drawing(
        title,
        words,
        (WIDTH, end),
        label(_signs(mine), LEFT, TEXT, "soft"),
        y_axis(frame, "µm", 5),
        *_drawn(frame, mine),
        path(f"M{number(frame.x.start)} {number(frame.y.at(0.0))}H{number(frame.right)}", "axis"),
        _numbers(frame, frets),
        legend,
    )
    return Picture(title, words, drawn)


def _frame(cuts: Sequence[Cut], frets: int) -> Frame:
    """From nothing, or from what seems to have grown, to the most; room above for the signs."""
    ends = [cut.planned_um for cut in cuts]
    for cut in cuts:
        if np.isfinite(cut.achieved_um):
            ends += [cut.achieved_um + way * 2.0 * cut.u_achieved_um for way in (-1.0, 1.0)]
    high = max(*ends, 1.0)
    low = min(*ends, 0.0)
    return framed((0.5, frets + 0.5), (low * 1.1, high * 1.3), _HEIGHT, left=LEFT,
                  right=WIDTH - RIGHT, top=_TOP)  # fmt: skip


def _drawn(frame: Frame, cuts: Sequence[Cut]) -> list[Html]:
    half = min(_SHARE * (frame.x.at(1.0) - frame.x.at(0.0)), _HALF)
    known = [cut for cut in cuts if np.isfinite(cut.achieved_um)]
    at = [(float(c.fret), c.achieved_um, 2.0 * c.u_achieved_um) for c in known]
    return [
        path("".join(_bar(frame, c.fret, c.achieved_um, 0.7 * half) for c in known), "came-off"),
        path("".join(_bar(frame, c.fret, c.planned_um, half) for c in cuts), "meant"),
        path(bars(frame, at), "whisker"),
        tag("g", *(_sign(frame, cut) for cut in cuts), class_="mid"),
    ]


def _signs(cuts: Sequence[Cut]) -> str:
    """What the signs over the bars mean, of those that are there."""
    found = [f"{mark} {verdict}" for verdict, mark in MARKS.items()
             if any(cut.verdict == verdict for cut in cuts)]  # fmt: skip
    return ", ".join(found)


def _bar(frame: Frame, fret: int, um: float, half: float) -> str:
    high, low = frame.y.at(max(um, 0.0)), frame.y.at(min(um, 0.0))
    return box(frame.x.at(float(fret)) - half, high, 2.0 * half, low - high)


def _sign(frame: Frame, cut: Cut) -> Html:
    """The verdict's sign over both bars, and the amount where it has room."""
    seen = np.isfinite(cut.achieved_um)
    high = max(cut.planned_um, cut.achieved_um + 2.0 * cut.u_achieved_um if seen else 0.0)
    x, y = frame.x.at(float(cut.fret)), frame.y.at(high)
    mark = label(MARKS[cut.verdict] if seen else "?", x, y - 4.0, "head")
    told = fixed(cut.achieved_um, 0) if seen else "–"
    wide = frame.x.at(1.0) - frame.x.at(0.0)
    return joined(mark, label(told, x, y - 20.0)) if text_width(told) < wide else mark


def _numbers(frame: Frame, frets: int) -> Html:
    """Under the field, at every fret or every other."""
    wide = frame.x.at(1.0) - frame.x.at(0.0)
    every = 1 if text_width(str(frets)) + 4.0 < wide else 2
    numbers = [
        label(str(n), frame.x.at(float(n)), frame.base + 19.0) for n in range(1, frets + 1, every)
    ]
    return joined(tag("g", *numbers, class_="mid"),
                  label("fret", LEFT - 7.0, frame.base + 19.0, "soft end"))  # fmt: skip
