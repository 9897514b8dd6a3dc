"""What unknown bytes are taken for."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.acquire.links.looks_like import Said, looks_like
from daq.wire.line import encode

LINE = Said("line", 460_800)
#: The example of the published standard: unit 1 answers one register, FF FF (its check: below).
MODBUS_ANSWER = bytes.fromhex("010402ffffb880")


def with_parity(text: bytes) -> bytes:
    """Seven bits and an even one."""
    return bytes(byte | (byte.bit_count() % 2) << 7 for byte in text)


@pytest.mark.parametrize(
    ("data", "what", "cure"),
    [
        (b"+1.234 mm\r\n" * 9, "printed numbers, text lines such as '+1.234 mm'", "printed"),
        (b"34\r\n+0,012\r\n-0,013\r\n", "text lines such as '+0,012'", "set protocol: printed"),
        (b"D01A: +00012.5e-3 um\n" * 5, "such as 'D01A: +00012.5e-3 um'", "protocol: printed"),
        (b"S,1,2,3,4,5*0000\n", "wrong checksums: 0000 where B74D belongs after 'S,1,2,3", "CRC"),
        (b"S,1,2,3,4,5*b74d\n", "wrong checksums: b74d where B74D belongs", "upper-case"),
        (b"S,1,2,3,4,5\nS,2,3,3,4,5\n", "without their checksum", "end each frame with *"),
        (b"\nok\nX:1.00 Y:2.00 Z:0.00\nok\n", "a G-code board's talk, such as 'ok'", "gcode"),
        (b"<Idle|MPos:0.000,0.000,0.000>\r\n", "a G-code board's talk", "set protocol: gcode"),
        (MODBUS_ANSWER, "answers of a Modbus RTU device", "set protocol: modbus"),
        (b"\x00\xff\x80\xf8" * 40, "a wrong baud rate", "try baud 115200, 500000, 9600"),
        (with_parity(b"+1.234\r\n" * 5), "text with a parity bit, such as '+1.234'", "7E1"),
        (b"hello\r\nready to go\r\n", "text lines such as 'ready to go'", "no protocol of this"),
        (b"", "nothing this program knows", "try baud"),
        (bytes(range(1, 256)), "no text and no frames", "try baud"),
    ],
)
def test_what_bytes_look_like(data: bytes, what: str, cure: str) -> None:
    said = looks_like(data, LINE)
    seen, _, told = said.partition("; the rig file says protocol line at 460800 baud: ")
    assert what in seen
    assert f"(first bytes {data[:24]!r})" in seen
    assert cure in told


def test_good_frames_of_another_protocol() -> None:
    data = encode.sample(1, 2, 3, None, 5) * 3
    assert looks_like(data, Said("printed", 9600)) == (
        f"good frames of the line protocol (first bytes {data[:24]!r}); the rig file says protocol "
        "printed at 9600 baud: set protocol: line"
    )


def test_the_protocol_is_right_and_its_settings_are_not() -> None:
    said = looks_like(b"+1.234 mm\r\n" * 9, Said("printed", 9600))
    assert "its settings there (links, printed) do not fit what comes" in said


def test_the_rate_of_the_rig_file_is_not_among_those_to_try() -> None:
    said = looks_like(b"\x00" * 100, Said("line", 9600))
    assert said.endswith(
        "try baud 115200, 500000, 250000, 57600, 230400 or 460800, then another protocol"
    )


@given(st.binary(max_size=600), st.sampled_from(["line", "printed", "modbus"]))
def test_any_bytes_are_one_line(data: bytes, protocol: str) -> None:
    said = looks_like(data, Said(protocol, 9600))
    assert said.isprintable()
    assert f"the rig file says protocol {protocol} at 9600 baud: " in said
