"""What unknown bytes look like: what speaks there, what the rig file says, what to set.

A heuristic, and pure. Which bytes a wrong baud rate gives: common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from daq.wire.crc import crc16
from daq.wire.dialects import dialect_of

#: 250,000 and its multiples are what a controller of 16 MHz makes exactly.
COMMON_BAUDS = (
    115_200, 500_000, 9600, 250_000, 57_600, 230_400, 460_800, 1_000_000, 921_600, 38_400, 19_200,
)  # fmt: skip
SHOWN_BYTES = 24
READ_BYTES = 4096
"""Of what is looked at; more tells no more."""
TEXT_SHARE = 0.95
TRIED = 6
_LINE_FRAME = re.compile(rb"([SEANH],[^*\r\n]{1,88})\*([0-9A-Fa-f]{4})\r?\n")
_BARE_FRAME = re.compile(rb"(?m)^S,\d+,\d+,-?\d+,-?\d*,-?\d*(?:,-?\d*)?\r?$")
_BOARD = re.compile(rb"(?m)^(?:ok\b|error:|echo:|start\r?$|X:\s*-?\d|<\w+[|,][MW]Pos:)")
_NUMBER = re.compile(
    rb"^(?:.{0,12}[^0-9.,+-])?[+-]?\s?\d+(?:[.,]\d+)?(?:[eE][+-]?\d+)?[^0-9]{0,8}$"
)


@dataclass(frozen=True, slots=True)
class Said:
    """What the rig file says of a link."""

    protocol: str
    baud: int

    @property
    def words(self) -> str:
        """As messages have it."""
        return f"the rig file says protocol {self.protocol} at {self.baud} baud"


@dataclass(frozen=True, slots=True)
class _Look:
    what: str
    cure: str


def looks_like(data: bytes, said: Said) -> str:
    """What was seen, what the rig file says, and the cure, in one line without an end."""
    data = data[:READ_BYTES]
    look = next(_looks(data, said))
    return f"{look.what} ({shown(data)}); {said.words}: {look.cure}"


def shown(data: bytes) -> str:
    """The first bytes as a person can read them."""
    return f"first bytes {data[:SHOWN_BYTES]!r}"


def _looks(data: bytes, said: Said) -> Iterator[_Look]:
    """The most certain first; the last holds for anything."""
    yield from _frames_of_ours(data, said)
    yield from _line_frames(data, said)
    if _is_text(data):
        yield from _text(data, said)
    if _is_modbus(data):
        yield _Look("answers of a Modbus RTU device", _set("protocol", "modbus", said.protocol))
    bare = bytes(np.frombuffer(data, np.uint8) & 0x7F)
    if _is_text(bare) and b"\n" in bare:
        line = _first_line(bare)
        yield _Look(f"text with a parity bit, such as {line!r}", "set framing: 7E1 (or 7O1)")
    yield _Look(_damage(data), f"try baud {_others(said.baud)}, then another protocol")


def _frames_of_ours(data: bytes, said: Said) -> Iterator[_Look]:
    """Whatever a decoder of this program takes for good frames: their checks hold."""
    for protocol in ("line", "binary"):
        if protocol == said.protocol:
            continue
        batch = dialect_of(protocol, {}).decoder().feed(data)
        if len(batch.samples) or batch.events or batch.replies:
            yield _Look(f"good frames of the {protocol} protocol", f"set protocol: {protocol}")


def _line_frames(data: bytes, said: Said) -> Iterator[_Look]:
    for body, check in _LINE_FRAME.findall(data):
        wanted = b"%04X" % crc16(body)
        if check == wanted:
            continue
        says = f"{check.decode()} where {wanted.decode()} belongs after {body.decode('latin1')!r}"
        yield _Look(
            f"frames of the line protocol with wrong checksums: {says}",
            "mend the firmware's CRC-16/IBM-3740 (four upper-case hex digits), or the cable",
        )
    if _BARE_FRAME.search(data):
        yield _Look(
            "samples of the line protocol without their checksum",
            "end each frame with * and its CRC-16/IBM-3740 in four upper-case hex digits",
        )


def _text(data: bytes, said: Said) -> Iterator[_Look]:
    lines = [line.strip() for line in re.split(rb"[\r\n]+", data)[1:-1] if line.strip()]
    lines = lines or [data.strip()]
    if _BOARD.search(data):
        line = next(line for line in [*lines, data] if _BOARD.search(line))
        cure = _set("protocol", "gcode", said.protocol)
        yield _Look(f"a G-code board's talk, such as {_text_of(line)!r}", cure)
    numbers = [line for line in lines if _NUMBER.match(line)]
    if 2 * len(numbers) > len(lines):
        example = f"printed numbers, text lines such as {_text_of(numbers[0])!r}"
        yield _Look(example, _set("protocol", "printed", said.protocol))
    yield _Look(
        f"text lines such as {_text_of(lines[0])!r}",
        "no protocol of this program; look at what the controller's firmware prints",
    )


def _set(key: str, value: str, now: str) -> str:
    """The line to write; where it stands there already, it is its settings that do not fit."""
    if value == now:
        return f"its settings there (links, {value}) do not fit what comes"
    return f"set {key}: {value}"


def _is_text(data: bytes) -> bool:
    if not data:
        return False
    codes = np.frombuffer(data, np.uint8)
    printable = ((codes >= 32) & (codes < 127)) | (codes == 10) | (codes == 13) | (codes == 9)
    return bool(printable.mean() >= TEXT_SHARE)


def _first_line(text: bytes) -> str:
    lines = [line for line in re.split(rb"[\r\n]+", text)[1:] if line.strip()]
    return _text_of(lines[0] if lines else text)


def _text_of(line: bytes) -> str:
    return line[:40].decode("ascii", "replace").strip()


def _is_modbus(data: bytes) -> bool:
    """Whether an answer to a reading of registers stands in it, its check holding."""
    for at in range(min(len(data), 64)):
        if data[at + 1 : at + 2] not in (b"\x03", b"\x04") or len(data) < at + 5:
            continue
        end = at + 3 + data[at + 2]
        check = int.from_bytes(data[end : end + 2], "little")
        if data[at + 2] and len(data) >= end + 2 and _crc16_modbus(data[at:end]) == check:
            return True
    return False


def _crc16_modbus(body: bytes) -> int:
    """CRC-16/MODBUS: polynomial 0x8005 reflected, initial 0xFFFF."""
    check = 0xFFFF
    for byte in body:
        check ^= byte
        for _ in range(8):
            check = (check >> 1) ^ (0xA001 if check & 1 else 0)
    return check


def _damage(data: bytes) -> str:
    """Read too fast a bit becomes many: 00, FF, 80, F8; too slow, several become one."""
    codes = np.frombuffer(data, np.uint8)
    odd = np.isin(codes, (0x00, 0x80, 0xC0, 0xE0, 0xF0, 0xF8, 0xFC, 0xFE, 0xFF))
    if codes.size and odd.mean() > 0.3:
        return "what a wrong baud rate makes of bytes"
    if codes.size and (codes >= 0x80).mean() > 0.2:
        return "no text and no frames, as at a wrong baud rate or another protocol"
    return "nothing this program knows"


def _others(baud: int) -> str:
    others = [str(each) for each in COMMON_BAUDS if each != baud][:TRIED]
    return f"{', '.join(others[:-1])} or {others[-1]}"
