"""Whether a board answers, and answers as the rig file says."""

from __future__ import annotations

from enum import Enum, auto

from daq.wire.gcode.motions import Told
from daq.wire.gcode.outbox import Line, Outbox, Use

PUZZLED_S = 3.0
"""Opening a port resets many a board, and for a moment it says anything."""
SHOWN = 60


class Stage(Enum):
    QUIET = auto()
    ASKING = auto()
    STARTING = auto()


class Greeting:
    """Asked where it is; then told its first lines; then hello is answered.

    query, position, accepted: as the rig file has them, for messages.
    """

    def __init__(self, query: str, position: str, accepted: str, start: tuple[str, ...]) -> None:
        self.stage = Stage.QUIET
        self._query = query
        self._position = position
        self._accepted = accepted
        self._start = start
        self._since_s = 0.0
        self._strange = b""
        self._board = ""

    def hello(self, now_s: float) -> None:
        """It is to be greeted, if it is not being greeted already."""
        if self.stage is Stage.QUIET:
            self.stage, self._since_s, self._strange = Stage.ASKING, now_s, b""

    def reset(self, text: str, now_s: float) -> None:
        """The board started anew: and so does this, where it is under way."""
        self._board = text
        if self.stage is not Stage.QUIET:
            self.stage, self._since_s = Stage.ASKING, now_s

    def strange(self, line: bytes) -> None:
        """A line came that is nothing the rig file knows of."""
        self._strange = line or self._strange

    def place(self, outbox: Outbox) -> None:
        """A place was told."""
        if self.stage is Stage.ASKING:
            self.stage = Stage.STARTING
            self.start(outbox)

    def start(self, outbox: Outbox) -> None:
        """Its first lines, as after every reset."""
        for text in self._start:
            outbox.put(Line(text, Use.START))

    def turn(self, outbox: Outbox, most_hz: float, now_s: float, told: Told) -> None:
        """What there is to tell by now."""
        if self.stage is Stage.STARTING and not outbox.has(Use.START):
            self.stage = Stage.QUIET
            told.answers.append(("H", f"G-code board {self._board}".strip(), f"{most_hz:g}"))
        elif self.stage is Stage.ASKING and now_s - self._since_s > PUZZLED_S and self._strange:
            self.fail(
                f"it answers {_shown(self._strange)} to {self._query}, and gcode.position in the "
                f"rig file says {self._position!r}; write position as the answer reads",
                told,
            )

    def refused(self, line: Line, words: str, told: Told) -> None:
        """A line was refused while it was greeted."""
        asked = "the query" if line.use is Use.QUERY else "the start line"
        self.fail(f"it answers {words!r} to {asked} {line.text}; check gcode in the rig file", told)

    def unanswered(self, line: Line, told: Told) -> None:
        """No answer came to a first line."""
        came = f"{_shown(self._strange)} came" if self._strange else "nothing came"
        self.fail(
            f"no {self._accepted!r} came to the start line {line.text}: {came}; check "
            "gcode.accepted and gcode.start in the rig file",
            told,
        )

    def fail(self, words: str, told: Told) -> None:
        """It is not as the rig file says."""
        self.stage = Stage.QUIET
        told.answers.append(("N", "H", words))


def _shown(line: bytes) -> str:
    return repr(line.strip()[:SHOWN].decode("latin-1"))
