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


_SENSOR_RESET = "the sensor's controller reset itself: check its power and the cable"


class RigRefused(RigError):
    """A controller answered N. who: as messages call it."""

    def __init__(self, who: str, command: str, reason: str) -> None:
        super().__init__(f"{who} refused {COMMANDS[command]}: {reason}")
        self.command = command
        self.reason = reason


class RigStopped(RigError):
    """The rig stopped of itself in the middle of something."""


class PassSpoilt(RigError):
    """The rig is well, and the pass that it is on cannot become good any more."""


def stopped_line(event: Event, *, drives: bool = True) -> str:
    """What an event that ends a motion means, with the rig's own words.

    drives: the controller that said it has the carriage.
    """
    said = f" (the rig says: {event.text})" if event.text else ""
    return (_STOPPED[event.word] if drives else _SENSOR_RESET) + said


def stops(event: Event, *, drives: bool = True) -> bool:
    """Whether what is under way has come to nothing: the carriage stands without having got
    where it was sent, or the sensor's controller started anew."""
    return event.word in _STOPPED if drives else event.word == "reset"
