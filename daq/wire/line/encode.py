"""Frames as bytes, for both ends of the wire.

Every function returns one whole frame, line feed included. ValueError means a caller's
mistake: a body that is not ASCII, is over 90 bytes or holds a line end.
"""

from __future__ import annotations

from binascii import crc_hqx
from collections.abc import Sequence

LONGEST_BODY = 90
EVENT_WORDS = ("arrived", "homed", "halted", "endstop", "overrange", "stalled", "reset")


def frame(body: bytes) -> bytes:
    """BODY*CCCC and a line feed."""
    if not 1 <= len(body) <= LONGEST_BODY or not body.isascii():
        raise ValueError(f"a frame's body is 1 to {LONGEST_BODY} ASCII bytes, not {body!r}")
    if b"\n" in body or b"\r" in body:
        raise ValueError(f"a frame's body cannot hold a line end: {body!r}")
    return _framed(body)


def hello() -> bytes:
    """Host: who is there?"""
    return frame(b"H")


def stream(rate_hz: float) -> bytes:
    """Host: send samples at this rate."""
    whole = int(rate_hz)
    return frame(f"G,{whole if whole == rate_hz else rate_hz}".encode("ascii"))


def stop() -> bytes:
    """Host: stop the stream."""
    return frame(b"X")


def move(x: int | None, y: int | None, speed: int | None) -> bytes:
    """Host: a straight move to these counts at this speed in x counts a second.

    None leaves a field empty: the axis stays where it is, or the rig takes its own speed.
    """
    return frame(f"M,{_cell(x)},{_cell(y)},{_cell(speed)}".encode("ascii"))


def home() -> bytes:
    """Host: find the end stop."""
    return frame(b"O")


def halt() -> bytes:
    """Host: halt at once."""
    return frame(b"K")


def sample(
    seq: int, t_us: int, x: int, y: int | None, raw: int | None, temp: int | None = None
) -> bytes:
    """Rig: one sample, in counts. None leaves y or raw empty and leaves temp out."""
    body = f"S,{seq},{t_us},{x},{_cell(y)},{_cell(raw)}"
    if temp is not None:
        body = f"{body},{temp}"
    return frame(body.encode("ascii"))


def samples(*columns: Sequence[int | None]) -> list[bytes]:
    """Rig: many samples of one shape, a frame each, of the columns that `sample` is given.

    Written in one go: one by one they take more than twice as long.
    """
    *cells, temp = columns
    if temp and temp[0] is not None:
        cells.append(temp)
    row = f"S{',%s' * len(cells)}\n"
    filled = ["" if cell is None else cell for rows in zip(*cells, strict=True) for cell in rows]
    bodies = (row * (len(filled) // len(cells)) % tuple(filled)).encode("ascii").split(b"\n")
    return [_framed(body) for body in bodies[:-1]]


def event(t_us: int, word: str, text: str = "") -> bytes:
    """Rig: something happened, at this device time."""
    if word not in EVENT_WORDS:
        raise ValueError(f"an event is one of {', '.join(EVENT_WORDS)}, not {word!r}")
    body = f"E,{t_us},{word},{text}" if text else f"E,{t_us},{word}"
    return frame(_ascii(body))


def hello_reply(device_id: str, max_rate_hz: float) -> bytes:
    """Rig: the answer to hello. The id is not empty and holds no comma."""
    if not device_id or "," in device_id:
        raise ValueError(f"a device id is not empty and holds no comma: {device_id!r}")
    whole = int(max_rate_hz)
    rate = whole if whole == max_rate_hz else max_rate_hz
    return frame(_ascii(f"H,1,{device_id},{rate}"))


def accept(command: str) -> bytes:
    """Rig: the command with this letter is accepted."""
    return frame(_ascii(f"A,{command}"))


def refuse(command: str, reason: str) -> bytes:
    """Rig: the command with this letter is refused."""
    return frame(_ascii(f"N,{command},{reason}"))


def _framed(body: bytes) -> bytes:
    return b"%b*%04X\n" % (body, crc_hqx(body, 0xFFFF))


def _cell(value: int | None) -> str:
    return "" if value is None else str(value)


def _ascii(body: str) -> bytes:
    return body.encode("ascii")
