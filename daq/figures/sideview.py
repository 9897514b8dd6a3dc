"""One string from the side, in two fields: from nut to saddle, and its tops much larger."""

from __future__ import annotations

import math
from collections.abc import Sequence

from analysis.plan.section import Section
from daq.figures.axes import LEFT, WIDTH, Frame, heading
from daq.figures.html import Html, joined
from daq.figures.key import ACROSS, DOT, FILLED, UPRIGHT, Key, key_rows
from daq.figures.sidelines import SideLines, side_lines
from daq.figures.stringfield import string_field, string_frame
from daq.figures.svg import drawing, label, text_width
from daq.figures.topsfield import tops_field, tops_frame
from daq.text.tight import held_words, worst_words

#: How far apart lines of words stand; room over a field for its frets' numbers, under the
#: upper field for the name of the lower one; between two things told on one line.
LINE, _NUMBERS, _BETWEEN, _APART = 18.0, 26.0, 44.0, 18.0

WORDS = (
    "Above, the string from nut to saddle over its frets. Below, the tops alone, in µm over the "
    "line through two of them, heights drawn much larger. Hollow dots: as measured, with bars of "
    "twice the standard uncertainty. Filled: after the plan; on them, what is filed off. Blue: "
    "what the string sweeps where it is held, paler the guard for what is not known."
)


def side_view(
    section: Section, joint: int, frets: tuple[int, int] | None = None, *, named: bool = True
) -> Html:
    """Heights over the line through the asked-for shape's anchors, or through fret 1 and the joint.

    frets: the first and last that are drawn large, over the line through these two; None: all.
    named: its name stands in it.
    """
    over = section.anchors or (1, joint)
    lines, large = side_lines(section, over), side_lines(section, frets or over)
    window = frets or (1, section.x_mm.size)
    told, foot = told_rows(_told(section, lines), LEFT, 2.0 * LINE if named else LINE - 3.0)
    above = string_frame(lines, foot + _NUMBERS)
    below = tops_frame(large, window, above.base + _BETWEEN)
    title = f"{_held(section)}, nut to saddle"
    legend, end = key_rows(_keys(lines), below.base + 8.0)
    return drawing(
        title,
        WORDS,
        (WIDTH, end),
        heading(title) if named else Html(""),
        told,
        string_field(above, lines, joint, window),
        label(_tops_words(large, below, above), LEFT, above.base + LINE, "soft"),
        tops_field(below, large, joint, window),
        legend,
    )


def larger(frame: Frame) -> float:
    """How many times larger heights are drawn than lengths, both in the same unit."""
    x, y = frame.x, frame.y
    return (y.at(0.0) - y.at(1.0)) / (x.at(1.0) - x.at(0.0))


def times(value: float) -> str:
    """To two digits, for a picture is read no better."""
    power = 10.0 ** math.floor(math.log10(value) - 1.0)
    return f"{round(value / power) * power:.0f}"


def _held(section: Section) -> str:
    return f"String {section.string}" if section.tight is None else held_words(section.tight)


def told_rows(told: Sequence[tuple[str, str]], left: float, foot: float) -> tuple[Html, float]:
    """Words with their style, side by side where they fit; and the foot of the last line."""
    parts, x = [], left
    for words, kind in told:
        wide = text_width(words)
        if x > left and x + wide > WIDTH:
            x, foot = left, foot + LINE
        parts.append(label(words, x, foot, kind or None))
        x += wide + _APART
    return joined(*parts), foot


def _told(section: Section, lines: SideLines) -> list[tuple[str, str]]:
    """What there is to tell of the string where it is held, and each line's style."""
    tight = section.tight
    if tight is None:
        return [("it has nothing under it there that it could touch", "soft")]
    told = [(worst_words(tight, after=False), "soft")]
    return [*told, (worst_words(tight, after=True), "")] if lines.changed else told


def _tops_words(lines: SideLines, frame: Frame, above: Frame) -> str:
    """Where the heights are measured from, and how much larger than lengths they are drawn."""
    first, last = lines.base.frets
    over = f"over the line through frets {first} and {last}" if first else "no top was seen"
    large, small = times(1e3 * larger(frame)), times(larger(above))
    return f"its tops, {over}; heights {large} times lengths, above {small} times"


def _keys(lines: SideLines) -> list[Key]:
    """What is in the picture, and no more."""
    section = lines.section
    keys = [Key("now, ± twice u", [(UPRIGHT, "bar-now"), (DOT, "dot-now"), (DOT, "hole")])]
    if lines.changed:
        keys.append(Key("after", [(ACROSS, "line-after"), (DOT, "dot-after")]))
    if (section.cut_mm > 0.0).any():
        keys.append(Key("filed off, µm", [("m8 1h10v12h-10z", "removed")]))
    if lines.swing is not None:
        keys.append(Key("swing", [(FILLED, "swing")]))
        keys.append(Key("guard", [(FILLED, "guard")]))
    if section.shape_mm is not None:
        keys.append(Key("shape asked for", [(ACROSS, "asked"), ("m7 7l6-6l6 6l-6 6z", "anchor")]))
    return keys
