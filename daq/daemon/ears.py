"""How a recorded device hears the host: the other half of its protocol."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from daq.errors import InputError
from daq.link.replayed import Ear, Heard
from daq.wire.binary.encode import text
from daq.wire.line import encode

REFUSED = "this is a recording and moves nothing"


def ear_for(protocol: str, device_id: str, rate_hz: float) -> Callable[[], Ear | None]:
    """What makes the ear of a new connection; None of it where the device is told nothing.

    Raises InputError for devices that only speak when asked: a recording cannot be asked.
    """
    if protocol == "line":
        return lambda: LineEar(device_id, rate_hz, bytes)
    if protocol == "binary":
        return lambda: LineEar(device_id, rate_hz, _in_binary)
    if protocol == "printed":
        return lambda: None
    raise InputError(
        f"--replay: found a recording of a device that speaks {protocol} and only answers; allowed "
        "line, binary or printed"
    )


class LineEar:
    """The line protocol's commands: hello, stream and stop are answered, every motion refused.

    pack: a frame of the line protocol to what the device sends for it.
    """

    def __init__(self, device_id: str, rate_hz: float, pack: Callable[[bytes], bytes]) -> None:
        self._device_id = device_id
        self._rate_hz = rate_hz
        self._pack = pack
        self._tail = b""

    def __call__(self, data: bytes) -> Sequence[Heard]:
        """The commands in these bytes, with the answers."""
        *lines, self._tail = (self._tail + data).split(b"\n")
        return [self._heard(line[:1].decode("ascii", "replace")) for line in lines if line]

    def _heard(self, letter: str) -> Heard:
        if letter == "H":
            answer = encode.hello_reply(self._device_id, self._rate_hz)
        elif letter in "GX":
            answer = encode.accept(letter)
        else:
            answer = encode.refuse(letter, REFUSED)
        return Heard(letter, self._pack(answer))


def _in_binary(frame: bytes) -> bytes:
    return text(frame.rpartition(b"*")[0])
