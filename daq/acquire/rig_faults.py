"""What a rig can answer or do that stops the work, as errors with their reasons on them."""

from __future__ import annotations

from daq.errors import RigError
from daq.wire.records import Event

COMMANDS = {
    "H": "hello",
    "G": "streaming",
    "X": "stopping the stream",
    "M": "a move",
    "O": "homing",
    "K": "the halt",
}
_STOPPED = {
    "stalled": "the carriage stalled: free its way and look for what holds it",
    "endstop": "the carriage ran into its end stop: check travel_mm and pads in the rig file",
    "halted": "the rig was halted",
    "reset": "the rig reset itself and lost its place: check its power and the cable",
}


class RigRefused(RigError):
    """The rig answered N."""

    def __init__(self, port: str, command: str, reason: str) -> None:
        super().__init__(f"the rig on {port} refused {COMMANDS[command]}: {reason}")
        self.command = command
        self.reason = reason


class RigStopped(RigError):
    """The rig stopped of itself in the middle of something."""

    def __init__(self, event: Event) -> None:
        super().__init__(stopped_line(event))


def stopped_line(event: Event) -> str:
    """What an event that ends a motion means, with the rig's own words."""
    said = f" (the rig says: {event.text})" if event.text else ""
    return _STOPPED[event.word] + said


def stops(event: Event) -> bool:
    """Whether the carriage stands after this event without having got where it was sent."""
    return event.word in _STOPPED
