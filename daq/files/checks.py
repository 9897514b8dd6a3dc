"""Checks of single values: each knows what it allows, in words, and hints at likely slips."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from pydantic_core import PydanticCustomError

from daq.files.faults import describe, nearest
from daq.files.names import ALLOWED_NAME, is_folder_name

Hint = Callable[[float], str]


def no_hint(_: float) -> str:
    """For numbers with no slip that is worth guessing."""
    return ""


def refusal(value: object, allowed: str, hint: str = "") -> PydanticCustomError:
    """The error a check raises; `schema` turns it into a Fault."""
    context = {"found": describe(value), "allowed": allowed, "hint": hint}
    return PydanticCustomError("check", "{found}", context)


def is_number(value: object) -> bool:
    """Whether a value is a finite number; true and false are none."""
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)


@dataclass(frozen=True, slots=True)
class Number:
    """A number from low to high, both allowed; `either_sign` allows the same range negative."""

    low: float
    high: float
    unit: str = ""
    hint: Hint = no_hint
    either_sign: bool = False

    @property
    def allowed(self) -> str:
        """For example `a number from 0.3 to 6 mm`."""
        unit = f" {self.unit}" if self.unit else ""
        sign = ", either sign" if self.either_sign else ""
        return f"a number from {self.low:g} to {self.high:g}{unit}{sign}"

    def __call__(self, value: object) -> float:
        if not is_number(value):
            raise refusal(value, self.allowed, _comma_hint(value))
        number = float(value)  # type: ignore[arg-type]
        size = abs(number) if self.either_sign else number
        if not self.low <= size <= self.high:
            raise refusal(value, self.allowed, self.hint(number))
        return number


@dataclass(frozen=True, slots=True)
class Whole:
    """A whole number from low to high, both allowed."""

    low: int
    high: int
    unit: str = ""

    @property
    def allowed(self) -> str:
        """For example `a whole number from 12 to 36`."""
        unit = f" {self.unit}" if self.unit else ""
        return f"a whole number from {self.low} to {self.high}{unit}"

    def __call__(self, value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise refusal(value, self.allowed)
        if not self.low <= value <= self.high:
            raise refusal(value, self.allowed)
        return value


@dataclass(frozen=True, slots=True)
class Choice:
    """One of a few words; `note` says more about what is allowed."""

    words: tuple[str, ...]
    note: str = ""

    @property
    def allowed(self) -> str:
        """For example `motor or hand`."""
        return " or ".join(self.words) + self.note

    def __call__(self, value: object) -> str:
        if isinstance(value, str) and value in self.words:
            return value
        hint = nearest(value, self.words) if isinstance(value, str) else ""
        raise refusal(value, self.allowed, hint)


@dataclass(frozen=True, slots=True)
class Text:
    """A text of one line."""

    allowed: str = "a text of 1 to 200 characters on one line"

    def __call__(self, value: object) -> str:
        # isprintable is false for line breaks, control characters and halves of surrogate pairs
        good = isinstance(value, str) and value.isprintable() and 1 <= len(value.strip()) <= 200
        if not good:
            raise refusal(value, self.allowed, _quote_hint(value))
        return str(value)


@dataclass(frozen=True, slots=True)
class FolderName:
    """A name a folder is called by."""

    allowed: str = ALLOWED_NAME

    def __call__(self, value: object) -> str:
        if not isinstance(value, str) or not is_folder_name(value):
            raise refusal(value, self.allowed, _quote_hint(value))
        return value


@dataclass(frozen=True, slots=True)
class Flag:
    """true or false."""

    allowed: str = "true or false"

    def __call__(self, value: object) -> bool:
        if not isinstance(value, bool):
            raise refusal(value, self.allowed)
        return value


@dataclass(frozen=True, slots=True)
class Pair:
    """A list of two; what each of them may be is the item's own check."""

    allowed: str

    def __call__(self, value: object) -> object:
        if not isinstance(value, tuple) or len(value) != 2:
            raise refusal(value, self.allowed)
        return value


@dataclass(frozen=True, slots=True)
class Entries:
    """A list with at least `low` and at most `high` entries."""

    low: int
    high: int
    what: str

    @property
    def allowed(self) -> str:
        """For example `a list of 3 to 12 strings`."""
        return f"a list of {self.low} to {self.high} {self.what}"

    def __call__(self, value: object) -> object:
        if not isinstance(value, tuple) or not self.low <= len(value) <= self.high:
            raise refusal(value, self.allowed)
        return value


@dataclass(frozen=True, slots=True)
class Group:
    """A group of keys the file's writer names; not empty."""

    allowed: str

    def __call__(self, value: object) -> object:
        if not isinstance(value, Mapping) or not value:
            raise refusal(value, self.allowed)
        return value


def _quote_hint(value: object) -> str:
    return f'a name of digits needs quotes: "{value}"' if is_number(value) else ""


def _comma_hint(value: object) -> str:
    if not isinstance(value, str):
        return ""
    pointed = value.replace(",", ".")
    digits = pointed.replace(".", "", 1).lstrip("+-")
    plain = digits.isascii() and digits.isdigit()
    if not plain:
        return ""
    return f"write {pointed} with a point" if "," in value else f"write {value} without quotes"
