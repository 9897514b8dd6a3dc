"""Inline drawings: the frame of each, the width of its text, paths from points."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from itertools import pairwise
from typing import Final

from daq.figures.html import Html, tag

#: Height of the drawings' text, in units of the drawing: read at arm's length where 760 of them
#: are as wide as a page's column.
TEXT: Final = 15.0
#: Where a font is wider than most, in shares of its height (DejaVu Sans, a wide one).
_WIDE: Final = {" ": 0.32, ".": 0.32, ",": 0.32, "i": 0.28, "l": 0.28, "j": 0.28, "t": 0.4,
                "f": 0.36, "r": 0.42, "m": 0.98, "w": 0.82, "±": 0.84, "+": 0.84, "−": 0.84,
                "-": 0.37, ":": 0.34, "M": 0.87, "W": 0.99, "~": 0.84, "–": 0.5, "(": 0.4,
                ")": 0.4}  # fmt: skip
_USUAL: Final = 0.64


@lru_cache(maxsize=4096)
def text_width(text: str, bold: bool = False) -> float:
    """How wide a line of text may come out, on the safe side for common fonts."""
    shares = sum(_WIDE.get(letter, _USUAL) for letter in text)
    return TEXT * shares * (1.12 if bold else 1.0)


def drawing(
    title: str, words: str, size: tuple[float, float], *parts: Html, live: bool = False
) -> Html:
    """A picture with a name and, for those who do not see it, what it shows.

    live: its parts are things of their own, each with a name; its own is not told on pointing.
    """
    return tag(
        "svg",
        Html("") if live else tag("title", title),
        tag("desc", words),
        *parts,
        viewBox=f"0 0 {size[0]:.0f} {size[1]:.0f}",
        class_="live" if live else None,
        role="group" if live else "img",
        aria_label=title,
    )


def label(text: str, x: float, y: float, kind: str | None = None, turned: bool = False) -> Html:
    """A line of text whose foot stands at y. turned: read from below, for an upright axis."""
    turn = f"rotate(-90 {number(x)} {number(y)})" if turned else None
    return tag("text", text, x=x, y=y, class_=kind, transform=turn)


def path(d: str, kind: str | None = None) -> Html:
    """A path; nothing where there is none to draw."""
    return tag("path", d=d, class_=kind) if d else Html("")


def line_through(points: Iterable[tuple[float, float]], closed: bool = False) -> str:
    """Path through points in the drawing's units: a start, then steps, which are shorter."""
    tenths = [(round(10.0 * x), round(10.0 * y)) for x, y in points]
    if not tenths:
        return ""
    steps = [(x - x0, y - y0) for (x0, y0), (x, y) in pairwise(tenths)]
    return f"M{_pairs(tenths[:1])}" + (f"l{_pairs(steps)}" if steps else "") + "z" * closed


def _pairs(tenths: list[tuple[int, int]]) -> str:
    """Numbers one after another, apart only where a sign does not part them."""
    text = " ".join(number(0.1 * value) for pair in tenths for value in pair)
    return text.replace(" -", "-")


def box(x: float, y: float, width: float, height: float) -> str:
    """Path of an upright rectangle."""
    start = f"M{_pairs([(round(10.0 * x), round(10.0 * y))])}"
    return f"{start}h{number(width)}v{number(height)}h{number(-width)}z"


def number(value: float) -> str:
    """A tenth of a unit is finer than any screen shows; no zero before the point, none behind."""
    text = f"{value + 0.0:.1f}".removesuffix(".0")
    return text.replace("0.", ".", 1) if text.startswith(("0.", "-0.")) else text
