"""Lines of RS-274 into words, as T. R. Kramer, F. M. Proctor and E. R. Messina have them.

"The NIST RS274/NGC Interpreter - Version 3", NISTIR 6556, 2000: a line may begin with a block
delete and a line number; a word is a letter and a number; blanks mean nothing anywhere and
letters may be small; a comment stands in parentheses and holds none; a letter stands once, but
for G and M; no two words of one modal group stand on a line. From memory: which section says
what, and the groups' numbers. That a semicolon begins a comment and a star a checksum is common
practice, no source.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

LONGEST_LINE = 256
_WORD = re.compile(r"([A-Z])([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))")
_COMMENT = re.compile(r"\([^()]*\)")
_NUMBER = re.compile(r"N[0-9]{1,5}(?![0-9.])")

GROUPS = {
    "G0": "motion", "G1": "motion", "G4": "once", "G28": "once", "G92": "once",
    "G20": "units", "G21": "units", "G90": "distance", "G91": "distance", "G94": "feed mode",
}  # fmt: skip
"""The G words known here and the modal group of each."""


class BadLine(Exception):
    """The message is what the board answers, without its `error`."""


@dataclass(frozen=True, slots=True)
class Block:
    """A line's words: codes such as G1 and M114 in their order, and numbers by letter."""

    codes: tuple[str, ...]
    numbers: dict[str, float]

    @property
    def empty(self) -> bool:
        return not (self.codes or self.numbers)

    def code(self, group: str) -> str | None:
        """The one of a modal group, if it is there."""
        return next((code for code in self.codes if GROUPS.get(code) == group), None)


def parse_block(line: str) -> Block:
    """The words of one line, without its end. BadLine for what the standard does not allow, and
    for G words that there are not here."""
    if len(line) > LONGEST_LINE:
        raise BadLine(f"line longer than {LONGEST_LINE} characters")
    text = _without_comments(line).upper().replace(" ", "").replace("\t", "").removeprefix("/")
    if "*" in text:
        raise BadLine("checksums are not taken")
    text = text[len(found.group()) :] if (found := _NUMBER.match(text)) else text
    codes: list[str] = []
    numbers: dict[str, float] = {}
    while text:
        found = _WORD.match(text)
        if found is None:
            raise BadLine(f"expected a letter and a number at {text[:12]}")
        letter, number = found[1], float(found[2])
        text = text[found.end() :]
        if letter in "GM":
            codes.append(f"{letter}{number:g}")
        elif letter in numbers or letter == "N":
            raise BadLine(f"{letter} stands twice or where it may not")
        else:
            numbers[letter] = number
    _check_groups(codes)
    return Block(tuple(codes), numbers)


def _without_comments(line: str) -> str:
    text = _COMMENT.sub("", line.partition(";")[0])
    if "(" in text or ")" in text:
        raise BadLine("a comment is not closed or stands in another")
    return text


def _check_groups(codes: list[str]) -> None:
    groups = []
    for code in codes:
        if code.startswith("G"):
            if code not in GROUPS:
                raise BadLine(f"unknown code {code}")
            groups.append(GROUPS[code])
    for group in groups:
        if groups.count(group) > 1:
            raise BadLine(f"two words of one modal group: {group}")
