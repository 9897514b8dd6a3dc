"""A line as a device prints it, written by a person: plain text with places for its numbers."""

from __future__ import annotations

import re
from dataclasses import dataclass
from difflib import get_close_matches
from itertools import pairwise

VALUE, ANY, BLANK = "{value}", "{any}", " "
LONGEST_PATTERN = 200
#: A place, a run of blanks, or text as it is.
_PLACE = r"\{\s*[A-Za-z_]*\s*\}"
_PART = re.compile(_PLACE + r"|[ \t]+|(?:(?!" + _PLACE + r")[^ \t])+")
_OF_NUMBERS = re.compile(r"[0-9eE]")


class TemplateError(ValueError):
    """A template that could be read in more than one way, or none; says what to write."""


@dataclass(frozen=True, slots=True)
class Template:
    """Its parts: a place `{name}`, ANY, BLANK for a run of blanks, all else text as it stands.

    Blanks at the ends are left out: they match whether or not they stand there.
    """

    parts: tuple[str, ...]

    def after(self, place: str) -> str:
        """The character that must follow a place; empty where none or any may."""
        at = self.parts.index(place) + 1
        return self.parts[at][0] if at < len(self.parts) and self.parts[at] != ANY else ""

    def least_bytes(self, decimals: int) -> int:
        """The shortest line, its end too, with numbers of so many decimals."""
        number = decimals + 2 if decimals else 1
        text = (part for part in self.parts if part != ANY)
        return 1 + sum(number if _is_place(part) else len(part) for part in text)


def parse_template(text: str, names: tuple[str, ...] = ("value",)) -> Template:
    """The parts of a template.

    names: of the places, each of which must stand there once. Raises TemplateError.
    """
    if not (text.isascii() and text.isprintable()) or not 1 <= len(text) <= LONGEST_PATTERN:
        raise TemplateError(
            f"1 to {LONGEST_PATTERN} plain ASCII characters on one line, {ANY} for any other"
        )
    parts = tuple(BLANK if part.isspace() else part for part in _PART.findall(text.strip()))
    _check_places(parts, names)
    for one, other in pairwise(parts):
        _check_pair(one, other)
    return Template(parts)


def _is_place(part: str) -> bool:
    return re.fullmatch(_PLACE, part) is not None


def _check_places(parts: tuple[str, ...], names: tuple[str, ...]) -> None:
    places = tuple(f"{{{name}}}" for name in names)
    for part in parts:
        if _is_place(part) and part not in (*places, ANY):
            near = get_close_matches(part.strip("{} ").lower(), (*names, "any"), n=1)
            meant = f"write {{{near[0]}}}" if near else f"a place is {' or '.join((*places, ANY))}"
            raise TemplateError(f"{part} is no place: {meant}")
    for place in places:
        if parts.count(place) != 1:
            raise TemplateError(f"write {place} once, where the number stands")


def _check_pair(one: str, other: str) -> None:
    """Where a number ends must be seen. Raises TemplateError."""
    if one == ANY and other == ANY:
        raise TemplateError(f"one {ANY} is enough")
    if _is_place(one) and _is_place(other):
        raise TemplateError(f"put what stands between {one} and {other}, a blank at least")
    if _is_place(one) and _OF_NUMBERS.match(other):
        raise TemplateError(f"{other[0]} after {one} could belong to the number: take it out")
