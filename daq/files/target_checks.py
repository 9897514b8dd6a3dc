"""Checks of what a target file says of the screws: a word, or what a hand sets them to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from analysis.rod.rod import MOST_TURNS
from daq.files.checks import Choice, Number, is_number, refusal

ByHand = Mapping[int, float]
WORDS = Choice(("free", "keep"))


@dataclass(frozen=True, slots=True)
class Turned:
    """free, keep, or how far the rod is turned."""

    turns: Number

    @property
    def allowed(self) -> str:
        return f"{WORDS.allowed}, or {self.turns.allowed}"

    def __call__(self, value: object) -> str | float:
        if is_number(value):
            return self.turns(value)
        if isinstance(value, str) and value in WORDS.words:
            return value
        raise refusal(value, self.allowed)


@dataclass(frozen=True, slots=True)
class ScrewsByHand:
    """free, keep, or a group from string number to mm; `target_rules` looks at each entry."""

    allowed: str = f"{WORDS.allowed}, or a group from string number to mm, such as {{1: 0.1}}"

    def __call__(self, value: object) -> object:
        if isinstance(value, Mapping):
            # only of numbers; whatever else stands there is a fault of its own
            return {string: float(mm) for string, mm in value.items() if is_number(mm)}
        if isinstance(value, str) and value in WORDS.words:
            return value
        raise refusal(value, self.allowed)


TURNED = Turned(Number(0, MOST_TURNS, "turns, tightening positive", either_sign=True))
BY_HAND = ScrewsByHand()
