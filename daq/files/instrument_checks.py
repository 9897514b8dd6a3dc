"""Checks that only an instrument file needs: notes, scales, inches taken for millimetres."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from analysis.strings.pitch import note_frequency_hz
from daq.files.checks import Hint, is_number, refusal

MM_PER_INCH = 25.4


def mm_not_inches(low_in: float, high_in: float) -> Hint:
    """A hint for a length in mm that looks like inches, between these."""

    def hint(number: float) -> str:
        if not low_in <= number <= high_in:
            return ""
        return f"{number:g} looks like inches: write {number * MM_PER_INCH:.6g}"

    return hint


def inches_not_mm(number: float) -> str:
    """A hint for a gauge in inches that looks like thousandths, or like millimetres."""
    if 5 <= number <= 150:
        return f"{number:g} looks like thousandths: write {number / 1000:.3f}"
    if 0.15 < number <= 3.9:
        return f"{number:g} looks like millimetres: write {number / MM_PER_INCH:.4f}"
    return ""


@dataclass(frozen=True, slots=True)
class Note:
    """A note with its octave."""

    allowed: str = "a note with its octave, such as E4, C#4 or Bb3"

    def __call__(self, value: object) -> str:
        if not isinstance(value, str):
            raise refusal(value, self.allowed)
        try:
            note_frequency_hz(value)
        except ValueError:
            raise refusal(value, self.allowed, _capital(value)) from None
        return value


def _capital(value: str) -> str:
    tidy = value.strip()[:1].upper() + value.strip()[1:]
    try:
        note_frequency_hz(tidy)
    except ValueError:
        return ""
    return f"write {tidy}"


@dataclass(frozen=True, slots=True)
class Scale:
    """A number, or a fan; the number becomes a fan without one."""

    allowed: str = "a number from 200 to 1200 mm, or {bass, treble, square_fret}"

    def __call__(self, value: object) -> object:
        if is_number(value):
            return {"bass": value, "treble": value, "square_fret": 0}
        if not isinstance(value, Mapping):
            raise refusal(value, self.allowed)
        return value


@dataclass(frozen=True, slots=True)
class OneOrTwo:
    """One radius for all of the board, or one at the nut and one at the last fret."""

    allowed: str = "a number from 50 to 10000 mm, or a list [nut, last fret]"

    def __call__(self, value: object) -> object:
        if is_number(value):
            return (value, value)
        if not isinstance(value, tuple) or len(value) != 2:
            raise refusal(value, self.allowed)
        return value


@dataclass(frozen=True, slots=True)
class OneOrEach:
    """One length past the scale for all saddles, or one for some of the strings."""

    allowed: str = "a number from -5 to 15 mm, or a group from string number to mm"

    def __call__(self, value: object) -> object:
        if is_number(value):
            return {1: value}
        if not isinstance(value, Mapping) or not value:
            raise refusal(value, self.allowed)
        return value
