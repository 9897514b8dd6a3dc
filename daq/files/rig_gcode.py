"""The keys of a link behind which a G-code board drives the carriage.

Only the words of a move are in a standard. All the rest is common practice without a source, and
every board has its own: so it stands in the rig file.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BeforeValidator

from daq.files.checks import Choice, Entries, Number, Pair, refusal
from daq.files.faults import Fault, describe
from daq.files.known import Known
from daq.files.rig_protocol import Around, ProtocolKeys
from daq.wire.gcode.position import check_position
from daq.wire.printed.template import TemplateError

LONGEST = 80
LETTERS = ("X", "Y", "Z", "A", "B", "C", "U", "V", "W")
#: `calibration.clocks` knows no place between two that are 0.1 s apart; so half of that at most.
LEAST_HZ = 20


@dataclass(frozen=True, slots=True)
class Position:
    """A template of a place."""

    allowed: str = "the answer as the board writes it, {x} and {y} where the numbers stand"

    def __call__(self, value: object) -> str:
        if not isinstance(value, str):
            raise refusal(value, self.allowed)
        try:
            check_position(value)
        except TemplateError as error:
            raise refusal(value, self.allowed, str(error)) from None
        return value


@dataclass(frozen=True, slots=True)
class LineOrKey:
    r"""A line for the board, or one character that it obeys at once, such as "!" or "\x18"."""

    allowed: str = 'a line such as M410, or one character such as "!" or "\\x18"'

    def __call__(self, value: object) -> str:
        if not isinstance(value, str) or not 1 <= len(value) <= LONGEST or not value.isascii():
            raise refusal(value, self.allowed)
        if value in "\r\n" or (len(value) > 1 and not value.isprintable()):
            raise refusal(value, self.allowed)
        return value


@dataclass(frozen=True, slots=True)
class OneLine:
    """A plain line."""

    least: int = 1
    allowed: str = f"a line of up to {LONGEST} plain ASCII characters"

    def __call__(self, value: object) -> str:
        if not isinstance(value, str) or not self.least <= len(value.strip()) <= LONGEST:
            raise refusal(value, self.allowed)
        if not (value.isascii() and value.isprintable()):
            raise refusal(value, self.allowed)
        return value.strip()


Word = Annotated[str, BeforeValidator(OneLine())]
MaybeWord = Annotated[str, BeforeValidator(OneLine(0))]
Words = Annotated[tuple[Word, ...], BeforeValidator(Entries(0, 20, "lines"))]
Letter = Annotated[str, BeforeValidator(Choice(LETTERS))]
Place = Annotated[float, BeforeValidator(Number(-5000, 5000, "mm"))]


class GcodeKeys(ProtocolKeys):
    """How the board is spoken to.

    halt: what stops it at once; there is none that all boards know. query, position: what asks
    where it is, and the answer. home: what makes it find its end stops; home_mm: where it then
    says it is, which is 0 of the rig. x_axis, y_axis: the letters of along and across.
    accepted, refused, alarm, greeting: how its lines begin; greeting empty where it greets not.
    chatter: how lines begin that say nothing here. start: sent once after every start of it.
    most_hz: how often it may be asked where it is.
    """

    halt: Annotated[str, BeforeValidator(LineOrKey())]
    query: Annotated[str, BeforeValidator(LineOrKey())] = "M114"
    position: Annotated[str, BeforeValidator(Position())] = "X:{x} Y:{y} {any}"
    home: Word = "G28 X0 Y0"
    home_mm: Annotated[
        tuple[Place, Place], BeforeValidator(Pair("a list [x, y] in the board's own mm"))
    ] = (0.0, 0.0)
    x_axis: Letter = "X"
    y_axis: Letter = "Y"
    accepted: Word = "ok"
    refused: Word = "error"
    alarm: MaybeWord = "ALARM"
    greeting: MaybeWord = ""
    chatter: Words = ("echo:", "//", "[")
    start: Words = ("G21", "G90")
    most_hz: Annotated[float, BeforeValidator(Number(LEAST_HZ, 200, "Hz"))] = 40.0

    def settings(self, around: Around) -> dict[str, Any]:
        """With what the rig's counts are worth in the board's millimetres."""
        return {
            "mm_per_count": around.counts.mm_per_count,
            "cross_mm_per_count": around.counts.cross_mm_per_count,
            "own_mm_s": around.counts.speed_mm_s,
            **self.model_dump(mode="json"),
        }


def gcode_rules(known: Known) -> Iterator[Fault]:
    """Every fault between the keys of a board and those of the carriage it drives."""
    link = known.text("carriage", "link")
    if link is None or known.text("links", link, "protocol") != "gcode":
        return
    if known.get("carriage", "cross") is None:
        return
    path = ("links", link, "gcode")
    position = known.text(*path, "position")
    if position is not None and "{y}" not in position:
        yield Fault(
            (*path, "position"),
            describe(position),
            "{y} in it too, as the carriage has a cross slide",
            "leave carriage.cross out where the slide is set by hand",
        )
    if known.text(*path, "x_axis") or known.text(*path, "y_axis"):
        x_axis = known.text(*path, "x_axis") or "X"
        y_axis = known.text(*path, "y_axis") or "Y"
        if x_axis == y_axis:
            allowed = "one letter for along and another for across"
            yield Fault((*path, "y_axis"), f"{y_axis}, which is x_axis already", allowed)
