"""Lines to a board: one at a time, the next when the last is answered."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from enum import Enum, auto

ANSWER_S = 3.0
QUERY_S = 0.25
"""A place that is late is better asked for again."""
CALM_S = 1.0
"""After an answer that did not come, for one that comes late not to be taken for another's."""


class Use(Enum):
    """What a line is sent for."""

    START = auto()
    QUERY = auto()
    MOVE = auto()
    DWELL = auto()
    HOME = auto()
    HALT = auto()


_PATIENCE_S = {Use.QUERY: QUERY_S, Use.HOME: math.inf}


@dataclass(frozen=True, slots=True)
class Line:
    """text: without its end."""

    text: str
    use: Use


class Outbox:
    """Answers carry no name: with one line out, an answer can only be that line's."""

    def __init__(self) -> None:
        self.out: Line | None = None
        self._waiting: deque[Line] = deque()
        self._sent_s = 0.0
        self._calm_from_s = -math.inf

    @property
    def idle(self) -> bool:
        """Whether nothing is out and nothing waits."""
        return self.out is None and not self._waiting

    def has(self, use: Use) -> bool:
        """Whether a line of this use is out or waits."""
        return any(line.use is use for line in (self.out, *self._waiting) if line is not None)

    def put(self, line: Line) -> None:
        self._waiting.append(line)

    def clear(self) -> None:
        """Nothing waits, and of what is out no answer is expected."""
        self._waiting.clear()
        self.out = None

    def clear_waiting(self) -> None:
        """Nothing waits; what is out is still to be answered."""
        self._waiting.clear()

    def due(self, now_s: float) -> bytes:
        """The next line, where it may go."""
        if self.due_in_s(now_s) > 0.0:
            return b""
        return self.send(self._waiting.popleft(), now_s)

    def send(self, line: Line, now_s: float) -> bytes:
        """This one at once."""
        self.out, self._sent_s = line, now_s
        return line.text.encode("ascii") + b"\n"

    def due_in_s(self, now_s: float) -> float:
        """How soon a line may go; math.inf where none waits, or one is out."""
        if self.out is not None or not self._waiting:
            return math.inf
        calm = self._waiting[0].use is Use.HOME
        return max(0.0, self._calm_from_s + CALM_S - now_s) if calm else 0.0

    def answered(self) -> Line | None:
        """The line that an answer which came is of; None where it answers nothing."""
        line, self.out = self.out, None
        return line

    def given_up(self, now_s: float) -> Line | None:
        """A line whose answer has been too long in coming: it is out no more."""
        if self.out is None or now_s - self._sent_s < _PATIENCE_S.get(self.out.use, ANSWER_S):
            return None
        self._calm_from_s = now_s
        return self.answered()
