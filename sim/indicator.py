"""A digital indicator's clocked serial output: 13 nibbles, each lowest bit first."""

from __future__ import annotations

BITS = 52
DECIMALS = 3
NO_DIGIT = 0xF


def frame(counts: int | None, decimals: int = DECIMALS, inches: bool = False) -> int:
    """The 52 bits, the first one lowest; None: a frame that shows no number.

    counts: in the last digit, -999999 to 999999.
    """
    digits = [NO_DIGIT] * 6 if counts is None else [int(each) for each in f"{abs(counts):06}"]
    sign = 8 if counts is not None and counts < 0 else 0
    nibbles = [0xF] * 4 + [sign, *digits, decimals, int(inches)]
    return sum(nibble << (4 * place) for place, nibble in enumerate(nibbles))
