"""Host to rig: bytes into commands. A line that is not a good frame is dropped."""

from __future__ import annotations

from dataclasses import dataclass

from daq.wire.line import encode

LONGEST_LINE = 256


@dataclass(frozen=True, slots=True)
class Command:
    letter: str
    fields: tuple[str, ...]


class CommandReader:
    """Keeps the unfinished line between calls; `dropped` counts lines that were no frames."""

    def __init__(self) -> None:
        self._tail = b""
        self.dropped = 0

    def feed(self, data: bytes) -> list[Command]:
        *lines, self._tail = (self._tail + data).split(b"\n")
        if len(self._tail) > LONGEST_LINE:
            self._tail = b""
            self.dropped += 1
        commands = [command for line in lines if (command := _command(line)) is not None]
        self.dropped += len(lines) - len(commands)
        return commands


def _command(line: bytes) -> Command | None:
    framed = line.removesuffix(b"\r") + b"\n"
    body, _, _ = framed.rpartition(b"*")
    try:
        if not body or framed != encode.frame(body):
            return None
    except ValueError:
        return None
    letter, *fields = body.decode("ascii").split(",")
    return Command(letter, tuple(fields))
