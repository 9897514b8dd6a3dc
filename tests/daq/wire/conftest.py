"""An independent way to make and to read frames, written from the protocol's page alone."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

WORDS = "arrived|homed|halted|endstop|overrange|stalled|reset"
SAMPLE = re.compile(
    r"S,([0-9]+),([0-9]+),(-?[0-9]+),(-?[0-9]+)?,(-?[0-9]+)?(?:,(-?[0-9]+))?", re.ASCII
)
EVENT = re.compile(rf"E,([0-9]+),({WORDS})(?:,(.*))?", re.ASCII | re.DOTALL)


def bitwise_crc(body: bytes) -> int:
    """One bit at a time, most significant first."""
    register = 0xFFFF
    for byte in body:
        for bit in range(7, -1, -1):
            top = register >> 15
            register = (register << 1) & 0xFFFF
            if top ^ (byte >> bit & 1):
                register ^= 0x1021
    return register


def sample_row(body: str) -> tuple[int | None, ...] | None:
    found = SAMPLE.fullmatch(body)
    if found is None:
        return None
    row = tuple(None if cell is None else int(cell) for cell in found.groups())
    limits = [(0, 2**32 - 1)] * 2 + [(-(2**31) + 1, 2**31 - 1)] * 3 + [(-(2**15), 2**15 - 1)]
    for cell, (low, high) in zip(row, limits, strict=True):
        if cell is not None and not low <= cell <= high:
            return None
    return row


def read_line(line: bytes) -> tuple[str, object] | None:
    """("S", row), ("E", (t, word, text)), ("R", (kind, fields)) or None for a bad line."""
    line = line.removesuffix(b"\r")
    body, check = line[:-5], line[-5:]
    if not 1 <= len(body) <= 90 or check != b"*%04X" % bitwise_crc(body) or not body.isascii():
        return None
    text = body.decode("ascii")
    if (row := sample_row(text)) is not None:
        return "S", row
    if (event := EVENT.fullmatch(text)) and int(event[1]) < 2**32:
        return "E", (int(event[1]), event[2], event[3] or "")
    if re.fullmatch(r"A,[HGXMOK]", text):
        return "R", ("A", (text[2:],))
    if refused := re.fullmatch(r"N,([^,]+),(.*)", text, re.DOTALL):
        return "R", ("N", refused.groups())
    if hello := re.fullmatch(r"H,([0-9]+),([^,]+),([0-9]+(?:\.[0-9]+)?)", text):
        return "R", ("H", hello.groups())
    return None


@pytest.fixture(scope="session")
def framed() -> Callable[[bytes], bytes]:
    """A body with its check and line feed, whatever the body is."""
    return lambda body: b"%b*%04X\n" % (body, bitwise_crc(body))


@pytest.fixture(scope="session")
def bitwise() -> Callable[[bytes], int]:
    return bitwise_crc


@pytest.fixture(scope="session")
def by_hand() -> Callable[[bytes], tuple[list[object], list[object], list[object], int]]:
    """Samples, events and replies of a whole stream, and how many lines were bad."""

    def read(stream: bytes) -> tuple[list[object], list[object], list[object], int]:
        found: dict[str, list[object]] = {"S": [], "E": [], "R": []}
        bad = 0
        for line in stream.split(b"\n")[:-1]:
            record = read_line(line)
            if record is None:
                bad += 1
            else:
                found[record[0]].append(record[1])
        return found["S"], found["E"], found["R"], bad

    return read
