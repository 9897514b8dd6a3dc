"""Lines to a board: one at a time, the next when the last is answered."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from enum import Enum, auto

ANSWER_S = 3.0
QUERY_S = 0.25
"""A place that is late is better asked for again."""
CALM_S = 0.3
"""So long after an upset no answer to what was sent before comes any more."""


class Use(Enum):
    """What a line is sent for."""

    START = auto()
    QUERY = auto()
    MOVE = auto()
    DWELL = auto()
    HOME = auto()


_PATIENCE_S = {Use.QUERY: QUERY_S, Use.HOME: math.inf}


@dataclass(frozen=True, slots=True)
class Line:
    """text: without its end."""

    text: str
    use: Use


class Outbox:
    """Answers carry no name: with one line out, an answer can only be that line's.

    After an answer that did not come, a halt or a reset, one may still come that is of nothing
    here. Until that is ruled out no line but a question goes out: a board answers in order, so
    the `ok` after a place is a question's, and none is left before it. Then, in case that was the
    answer of a question given up, it is let alone for a moment; a board that is asked by a
    character only that.
    """

    def __init__(self, *, asked_by_line: bool) -> None:
        self.out: Line | None = None
        self._asked_by_line = asked_by_line
        self._waiting: deque[Line] = deque()
        self._sent_s = 0.0
        self._places_before = 0
        self._is_upset = False
        self._calm_from_s: float | None = None

    @property
    def wants_asking(self) -> bool:
        """Whether lines wait for a question that is answered."""
        return bool(self._waiting) and self._is_upset and self._calm_from_s is None

    @property
    def asks_now(self) -> bool:
        """Whether a question that is a line may go."""
        return self.out is None and (not self._waiting or self.wants_asking)

    def has(self, use: Use) -> bool:
        """Whether a line of this use is out or waits."""
        return any(line.use is use for line in (self.out, *self._waiting) if line is not None)

    def put(self, line: Line) -> None:
        self._waiting.append(line)
        if self._asked_by_line:
            self._calm_from_s = None

    def clear(self) -> None:
        """Nothing waits; what is out is still to be answered."""
        self._waiting.clear()

    def upset(self, now_s: float) -> None:
        """Nothing waits, and whether what is out will be answered nobody knows."""
        self._waiting.clear()
        self._lose(now_s)

    def _lose(self, now_s: float) -> None:
        self.out, self._is_upset = None, True
        self._calm_from_s = None if self._asked_by_line else now_s

    def due(self, now_s: float, places: int) -> bytes:
        """The next line, where it may go. places: that were told so far."""
        if self.due_in_s(now_s) > 0.0:
            return b""
        self._is_upset = False
        return self.send(self._waiting.popleft(), now_s, places)

    def send(self, line: Line, now_s: float, places: int) -> bytes:
        """This one at once."""
        self.out, self._sent_s, self._places_before = line, now_s, places
        return line.text.encode("ascii") + b"\n"

    def due_in_s(self, now_s: float) -> float:
        """How soon a line may go; math.inf where none waits, or one is out."""
        if self.out is not None or not self._waiting:
            return math.inf
        if not self._is_upset:
            return 0.0
        if self._calm_from_s is None:
            return math.inf
        return max(0.0, self._calm_from_s + CALM_S - now_s)

    def accepted(self, places: int, now_s: float) -> Line | None:
        """The line that an `ok` is of; None where it is of nothing.

        places: that were told before it. The question's own comes after a place.
        """
        line = self.out
        if line is not None and line.use is Use.QUERY:
            if places == self._places_before:
                return None
            self._calm_from_s = now_s
        self.out = None
        return line

    def refused(self) -> Line | None:
        """The line that a refusal is of."""
        line, self.out = self.out, None
        return line

    def given_up(self, now_s: float) -> Line | None:
        """A line whose answer has been too long in coming: it is out no more."""
        if self.out is None or now_s - self._sent_s < _PATIENCE_S.get(self.out.use, ANSWER_S):
            return None
        line = self.out
        self._lose(now_s)
        return line
