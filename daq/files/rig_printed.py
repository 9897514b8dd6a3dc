"""The keys of a link behind which a sensor prints its readings."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BeforeValidator

from daq.files.checks import Entries, Flag, Text, Whole, refusal
from daq.files.rig_protocol import Around, ProtocolKeys
from daq.wire.printed.template import TemplateError, parse_template

ALLOWED_PATTERN = "a line as the sensor prints it, {value} where the number stands"
_ESCAPES = {r"\r": "\r", r"\n": "\n", r"\t": "\t", r"\\": "\\"}


@dataclass(frozen=True, slots=True)
class Pattern:
    """A template of a line."""

    allowed: str = ALLOWED_PATTERN

    def __call__(self, value: object) -> str:
        if not isinstance(value, str):
            raise refusal(value, self.allowed)
        try:
            parse_template(value)
        except TemplateError as error:
            raise refusal(value, self.allowed, str(error)) from None
        return value


@dataclass(frozen=True, slots=True)
class Sent:
    r"""A text to send: line ends as `\r` and `\n`, whether or not YAML made them real already."""

    allowed: str = r"1 to 80 plain ASCII characters, \r and \n for line ends"

    def __call__(self, value: object) -> str:
        if not isinstance(value, str) or not 1 <= len(value) <= 80 or not value.isascii():
            raise refusal(value, self.allowed)
        text = re.sub(r"\\.?", lambda found: _ESCAPES.get(found.group(), "\0"), value)
        if not re.sub(r"[\r\n\t]", "", text + " ").isprintable():
            raise refusal(value, self.allowed)
        return text


Command = Annotated[str, BeforeValidator(Sent())]


class PrintedKeys(ProtocolKeys):
    """What a line looks like, and what makes the sensor print.

    invalid: texts that stand where the number would where the sensor has no reading.
    even: its lines come evenly, so that their count is a clock. start, stop: what to send it.
    """

    pattern: Annotated[str, BeforeValidator(Pattern())]
    decimals: Annotated[int, BeforeValidator(Whole(0, 9, "decimals"))]
    invalid: Annotated[
        tuple[Annotated[str, BeforeValidator(Text())], ...],
        BeforeValidator(Entries(0, 20, "texts")),
    ] = ()
    even: Annotated[bool, BeforeValidator(Flag())] = True
    start: Command | None = None
    stop: Command | None = None

    def settings(self, around: Around) -> dict[str, Any]:
        """With the rate it prints at, which no line tells."""
        given = self.model_dump(exclude_none=True)
        return {**given, "invalid": list(self.invalid), "rate_hz": around.rate_hz}
