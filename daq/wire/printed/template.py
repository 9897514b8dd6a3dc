"""A line as a sensor prints it, written by a person: plain text with a place for the number."""

from __future__ import annotations

import re
from dataclasses import dataclass
from difflib import get_close_matches
from itertools import pairwise

VALUE, ANY, BLANK = "{value}", "{any}", " "
LONGEST_PATTERN = 200
#: In the order they stand: a place, a run of blanks, or text as it is.
_PART = re.compile(r"\{value\}|\{any\}|[ \t]+|(?:(?!\{value\}|\{any\})[^ \t])+")
_PLACE = re.compile(r"\{\s*([A-Za-z_]*)\s*\}")
_OF_NUMBERS = re.compile(r"[0-9eE]")


class TemplateError(ValueError):
    """A template that would not be read in one way only; says what to write."""


@dataclass(frozen=True, slots=True)
class Template:
    """Its parts: VALUE once, ANY, BLANK for a run of blanks, all else text that stands as it is.

    Blanks at the ends are left out: they match whether or not they stand there.
    """

    parts: tuple[str, ...]

    @property
    def after_value(self) -> str:
        """The character that must follow the number; empty where none or any may."""
        at = self.parts.index(VALUE) + 1
        return self.parts[at][0] if at < len(self.parts) and self.parts[at] != ANY else ""

    def least_bytes(self, decimals: int) -> int:
        """The shortest line, its end too, with a number of so many decimals."""
        value = decimals + 2 if decimals else 1
        sizes = {VALUE: value, ANY: 0}
        return 1 + sum(sizes.get(part, len(part)) for part in self.parts)


def parse_template(text: str) -> Template:
    """The parts of a template. Raises TemplateError."""
    if not (text.isascii() and text.isprintable()) or not 1 <= len(text) <= LONGEST_PATTERN:
        raise TemplateError(
            f"1 to {LONGEST_PATTERN} plain ASCII characters on one line, {ANY} for any other"
        )
    _check_places(text)
    parts = tuple(BLANK if part.isspace() else part for part in _PART.findall(text.strip()))
    for one, other in pairwise(parts):
        _check_pair(one, other)
    return Template(parts)


def _check_places(text: str) -> None:
    for place in _PLACE.finditer(text):
        if place.group() not in (VALUE, ANY):
            near = get_close_matches(place.group(1).lower(), ("value", "any"), n=1)
            meant = f"write {{{near[0]}}}" if near else f"a place is {VALUE} or {ANY}"
            raise TemplateError(f"{place.group()} is no place: {meant}")
    if text.count(VALUE) != 1:
        raise TemplateError(f"write {VALUE} once, where the number stands")


def _check_pair(one: str, other: str) -> None:
    """Where the number ends must be seen. Raises TemplateError."""
    if one == ANY and other == ANY:
        raise TemplateError(f"one {ANY} is enough")
    if {one, other} == {VALUE, ANY}:
        raise TemplateError(f"put what stands between {VALUE} and {ANY}, a blank at least")
    if one == VALUE and _OF_NUMBERS.match(other):
        raise TemplateError(f"{other[0]} after {VALUE} could belong to the number: take it out")
