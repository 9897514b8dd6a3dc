"""How bytes stand on a serial line: data bits, parity and stop bits, as manuals write it."""

from __future__ import annotations

from dataclasses import dataclass

from daq.files.checks import refusal

FRAMINGS = tuple(f"{bits}{parity}{stop}" for bits in "78" for parity in "NEO" for stop in "12")
#: YAML takes an unquoted 8E1 for the number 8 * 10^1. Manuals write no quotes: it is meant.
_AS_NUMBERS = {float(framing): framing for framing in FRAMINGS if "E" in framing}


def framing_of(value: object) -> str | None:
    """What stands in a file, as one of FRAMINGS; None where it is none."""
    framing = _AS_NUMBERS.get(value) if isinstance(value, float) else value
    return framing if isinstance(framing, str) and framing in FRAMINGS else None


@dataclass(frozen=True, slots=True)
class Framing:
    """One of them."""

    allowed: str = "data bits 7 or 8, parity N, E or O, stop bits 1 or 2, such as 8N1"

    def __call__(self, value: object) -> str:
        framing = framing_of(value)
        if framing is None:
            raise refusal(value, self.allowed)
        return framing


def byte_bits(framing: str) -> int:
    """What a byte takes on the wire, its start bit too."""
    return 1 + int(framing[0]) + (framing[1] != "N") + int(framing[2])
