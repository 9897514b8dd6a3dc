"""The host's half: ask, wait for the answer or for its time to be over, ask again."""

from __future__ import annotations

import math
from dataclasses import replace

from daq.wire.commands import Command, Halt, Hello, Home, Move, Stop, Stream
from daq.wire.records import Batch, Reply

MOVES_NOTHING = "a sensor that is polled moves nothing"
#: So long an answer may take, besides its time on the line. Common practice, no source.
ANSWER_S = 0.25
#: What the exceptions of the standard mean (Modbus application protocol V1.1b3, 7), and the cure.
EXCEPTIONS = {
    1: "it knows no such question: set table to the other of input and holding",
    2: "it has no such register: check first_register (from 0) and count, or the table",
    3: "it does not give so many registers at once: check count",
    4: "it failed: see its manual, and whether its sensor sees anything",
}
#: It is there, and will answer later.
BUSY = (5, 6)


class ModbusTalk:
    """Asks once for hello, and evenly while it streams; answers commands in the sensor's stead.

    question: the request's bytes. least_s: the least time between two. silence_s: before each.
    highest_hz: how often it may be asked, as hello tells.
    """

    def __init__(
        self, question: bytes, unit: int, *, least_s: float, silence_s: float, highest_hz: float
    ) -> None:
        self._question = question
        self._unit = unit
        self._least_s = least_s
        self._silence_s = silence_s
        self._highest_hz = highest_hz
        self._greeting = False
        self._period_s = math.inf
        self._next_s = math.inf
        self._lost_s: float | None = None
        self._owed: list[Reply] = []

    def say(self, command: Command, now_s: float) -> bytes:
        """Nothing at once: what is to be asked comes from `due`."""
        match command:
            case Hello():
                self._greeting = True
                self._next_s = min(self._next_s, now_s)
            case Stream(rate_hz) if rate_hz > self._highest_hz:
                self._owe("N", "G", f"it can be asked {self._highest_hz:.3g} times a second")
            case Stream(rate_hz):
                self._period_s, self._next_s = 1.0 / rate_hz, now_s
                self._owe("A", "G")
            case Stop():
                self._period_s = self._next_s = math.inf
                self._owe("A", "X")
            case Move() | Home() | Halt():
                self._owe("N", command.letter, MOVES_NOTHING)
        return b""

    def due(self, now_s: float) -> bytes:
        """The question, where it is time for it."""
        if self.due_in_s(now_s) > 0.0:
            return b""
        self._lost_s = now_s + self._least_s + ANSWER_S
        late = now_s - self._next_s
        # evenly, as long as it keeps up; what was missed is not asked for in a hurry
        self._next_s = now_s if late >= self._period_s else self._next_s
        self._next_s += self._period_s
        return self._question

    def due_in_s(self, now_s: float) -> float:
        """Never while an answer may still come: two on the line at once are none."""
        if self._lost_s is None:
            return max(0.0, self._next_s - now_s)
        again_s = now_s if self._greeting else self._next_s
        return max(0.0, max(self._lost_s, again_s) - now_s)

    def hear(self, batch: Batch, now_s: float) -> Batch:
        """With the answers that are owed; exceptions are told where hello asked."""
        if len(batch.samples):
            self._heard(batch, now_s)
        elif batch.bad_frames and self._lost_s is not None:
            # what was left of an answer: no other will come, but its rest may
            self._lost_s = min(self._lost_s, now_s + self._least_s)
        replies, self._owed = tuple(self._owed), []
        return replace(batch, replies=replies) if replies or batch.replies else batch

    def _heard(self, batch: Batch, now_s: float) -> None:
        self._lost_s = None
        self._next_s = max(self._next_s, now_s + self._silence_s)
        if not self._greeting:
            return
        codes = [int(reply.fields[1]) for reply in batch.replies]
        if len(codes) < len(batch.samples):
            self._owe("H", "1", f"modbus unit {self._unit}", f"{self._highest_hz:.6g}")
        elif codes[0] not in BUSY:
            meaning = EXCEPTIONS.get(codes[0], "see its manual")
            self._owe("N", "H", f"exception {codes[0]} from unit {self._unit}: {meaning}")
        else:
            self._next_s = min(self._next_s, now_s + ANSWER_S)
            return
        self._greeting = False

    def _owe(self, kind: str, *fields: str) -> None:
        self._owed.append(Reply(kind, fields, 0))
