"""The frames that come seldom: events and answers, one at a time."""

from __future__ import annotations

import re

from daq.wire.crc import crc16
from daq.wire.line.encode import EVENT_WORDS
from daq.wire.records import Event, Reply

COMMANDS = ("H", "G", "X", "M", "O", "K")
LATEST_TIME_US = 2**32 - 1
_WHOLE = re.compile(r"[0-9]+")
_RATE = re.compile(r"[0-9]+(\.[0-9]+)?")


def decode_rare(body: bytes, check: bytes, at_sample: int) -> Event | Reply | None:
    """The record of a body with this check behind it, or None where it is no good frame."""
    return decode_body(body, at_sample) if b"%04X" % crc16(body) == check else None


def decode_body(body: bytes, at_sample: int) -> Event | Reply | None:
    """The record of a body whose check has held, or None where it is no event and no answer."""
    if not body.isascii():
        return None
    letter, _, rest = body.decode("ascii").partition(",")
    if letter == "E":
        return _event(rest, at_sample)
    fields = _REPLIES[letter](rest) if letter in _REPLIES else None
    return None if fields is None else Reply(letter, fields, at_sample)


def _event(rest: str, at_sample: int) -> Event | None:
    time, _, rest = rest.partition(",")
    word, _, text = rest.partition(",")
    if not _WHOLE.fullmatch(time) or int(time) > LATEST_TIME_US or word not in EVENT_WORDS:
        return None
    return Event(int(time), word, text, at_sample)


def _hello(rest: str) -> tuple[str, ...] | None:
    """Version, device id, highest rate. Any version is let through: refusing it is for whoever
    can tell the person what was found."""
    fields = tuple(rest.split(","))
    if len(fields) != 3 or not fields[1]:
        return None
    whole = _WHOLE.fullmatch(fields[0]) and _RATE.fullmatch(fields[2])
    return fields if whole else None


def _accepted(rest: str) -> tuple[str, ...] | None:
    return (rest,) if rest in COMMANDS else None


def _refused(rest: str) -> tuple[str, ...] | None:
    """Command and reason; a reason may hold commas."""
    command, comma, reason = rest.partition(",")
    return (command, reason) if command and comma else None


_REPLIES = {"H": _hello, "A": _accepted, "N": _refused}
