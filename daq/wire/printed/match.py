"""A template made into a matcher of lines, and the number in a line as counts: no floats.

The matcher takes time in proportion to a line's length: after {any} the first place where what
follows it fits is taken, and never given back.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from daq.wire.printed.template import ANY, BLANK, VALUE, Template

LARGEST_COUNT = 2**31 - 1
#: More places than this hold no reading, and would cost time.
_MOST_PLACES = 20
#: The names of C's own words for what is no number.
_NO_NUMBER = rb"[+-]?(?i:nan|inf(?:inity)?)"


def line_pattern(template: Template, invalid: Sequence[str]) -> re.Pattern[bytes]:
    """Matches a line of a text of lines from start to end.

    Groups: sign, whole, part (or tail, where nothing stands before the point) and power of the
    number; all None where there is no reading: one of `invalid`, in the number's place or alone
    on its line.
    """
    no_reading = _no_reading(invalid)
    pieces = _pieces(template.parts, _value(template.after(VALUE), no_reading))
    first, *rest = pieces
    body = b"^[ \\t]*+" + first
    body += b"".join(b"(?>[^\\n]*?" + piece + b")" for piece in rest)
    return re.compile(body + b"|^[ \\t]*+(?:" + no_reading + b")[ \\t]*+$", re.MULTILINE)


def counts(match: re.Match[bytes], decimals: int) -> int | None:
    """The number times 10^decimals, rounded half away from 0; None where no int32 holds it.

    Raises TypeError where the match has no number.
    """
    sign, whole, part, tail, power = match.group("sign", "whole", "part", "tail", "power")
    part = part or tail or b""
    digits = (whole or b"") + part
    shift = decimals - len(part) + int(power or 0)
    size = _shifted(digits, shift)
    if size > LARGEST_COUNT:
        return None
    return -size if sign == b"-" else size


def _shifted(digits: bytes, shift: int) -> int:
    number = int(digits)
    if not number:
        return 0
    if shift >= 0:
        return number * int(10 ** min(shift, _MOST_PLACES))
    if -shift > len(digits):
        return 0
    up = digits[shift : shift + 1 or None] >= b"5"
    return int(digits[:shift] or b"0") + up


def _pieces(parts: Sequence[str], value: bytes) -> list[bytes]:
    """What stands between the {any}s; the last one with the line's end."""
    pieces = [b""]
    for part in parts:
        if part == ANY:
            pieces.append(b"")
        elif part == VALUE:
            pieces[-1] += value
        else:
            pieces[-1] += b"[ \\t]++" if part == BLANK else re.escape(part.encode("ascii"))
    pieces[-1] += b"[ \\t]*+$"
    return pieces


def _value(after: str, no_reading: bytes) -> bytes:
    """A number, or what stands there in its stead. after: what must follow, which is then no
    decimal sign."""
    signs = "".join(sign for sign in ".," if sign != after)
    some = b"[0-9]{1,%d}+" % _MOST_PLACES
    point = b"[%s]" % signs.encode("ascii")
    alone = b"" if after == "." else b"|\\."
    number = (
        b"(?P<sign>[+-])?+[ \\t]*+"
        b"(?:(?P<whole>" + some + b")(?:" + point + b"(?P<part>" + some + b")" + alone + b")?+"
        b"|" + point + b"(?P<tail>" + some + b"))"
        b"(?:[eE](?P<power>[+-]?[0-9]{1,3}+))?+"
    )
    return b"[ \\t]*+(?:" + no_reading + b"|" + number + b")"


def _no_reading(invalid: Sequence[str]) -> bytes:
    # the longest first: of two that begin alike it is the one that is meant
    texts = sorted((text.strip() for text in invalid), key=len, reverse=True)
    return b"|".join([*(re.escape(text.encode("utf-8")) for text in texts), _NO_NUMBER])
