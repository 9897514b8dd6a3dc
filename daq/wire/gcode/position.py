"""Where a board says it is, by a template: two numbers in a line of text."""

from __future__ import annotations

import re

from daq.wire.gcode.axes import Axes, Counts
from daq.wire.printed.template import ANY, BLANK, parse_template
from daq.wire.records import ABSENT

NUMBER = rb"([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))"
"""As NISTIR 6556 has numbers: a sign, digits with at most one point among them, no exponent."""
LONGEST_DIGITS = 30


class PositionReader:
    """Lines to counts. Raises TemplateError for a template that is none.

    across: whether y is read; where it is not, the template may do without {y}.
    """

    def __init__(self, template: str, axes: Axes) -> None:
        parts = check_position(template, across=axes.across is not None)
        order = [part[1:-1] for part in parts if part in ("{x}", "{y}")]
        self._groups = {name: at + 1 for at, name in enumerate(order)}
        if parts[-2:] == (BLANK, ANY):  # where there is no more, there need be no blank
            ending, parts = rb"(?:[ \t].*)?", parts[:-2]
        else:
            ending = rb"[ \t]*"
        self._pattern = re.compile(rb"[ \t]*" + b"".join(map(_pattern, parts)) + ending)
        self._axes = axes

    def read(self, line: bytes) -> Counts | None:
        """x and y in counts, y ABSENT where the rig drives none; None where it is no position."""
        found = self._pattern.fullmatch(line)
        if found is None:
            return None
        across = self._axes.across
        try:
            x = self._axes.along.counts(_number(found[self._groups["x"]]))
            if across is None:
                return x, ABSENT
            return x, across.counts(_number(found[self._groups["y"]]))
        except ValueError:
            return None


def check_position(template: str, *, across: bool = False) -> tuple[str, ...]:
    """The parts of a template with {x} in it, and {y} where it must be or is. Raises
    TemplateError."""
    names = ("x", "y") if across or "{y}" in template else ("x",)
    return parse_template(template, names).parts


def _number(text: bytes) -> float:
    if len(text) > LONGEST_DIGITS:
        raise ValueError("no place has so many digits")
    return float(text)


def _pattern(part: str) -> bytes:
    if part in ("{x}", "{y}"):
        return NUMBER
    if part == ANY:
        return rb".*?"
    return rb"[ \t]+" if part == BLANK else re.escape(part.encode("ascii"))
