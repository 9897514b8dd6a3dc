"""A motion from its command to its end, by what a board answers and where it says it is.

`ok` tells that a line was taken, not that its motion has ended. So a motion is over when all of
this has come about: its line was taken, a place near its target was told, a dwell of no length
(G4 P0, which waits for the moves before it: common practice, no source) was taken, and the place
was told near the target once more. A board that takes the dwell at once is no worse off.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum, auto

from daq.wire.commands import Command, Home, Move
from daq.wire.gcode.axes import Axes
from daq.wire.gcode.outbox import Line, Outbox, Use
from daq.wire.gcode.stand import STILL_S, TWICE_S, Stand

DWELL = Line("G4 P0", Use.DWELL)
TAKEN_S = 0.5
"""A board that has not refused to home by then is doing it: many answer only at its end."""


class Step(Enum):
    """How far a motion has come."""

    SENT = auto()
    GOING = auto()
    DWELLING = auto()
    DWELT = auto()


@dataclass(slots=True)
class Told:
    """What there is to tell: answers (kind, command's letter, reason) and events (word, text)."""

    answers: list[tuple[str, str, str]] = field(default_factory=list)
    events: list[tuple[str, str]] = field(default_factory=list)


@dataclass(slots=True)
class Motion:
    """A move, or homing. answered: whether its command has its answer."""

    command: Move | Home
    since_s: float
    step: Step = Step.SENT
    answered: bool = False
    going_s: float = 0.0

    @property
    def homes(self) -> bool:
        return isinstance(self.command, Home)

    @property
    def target(self) -> tuple[int | None, int | None]:
        return (0, 0) if isinstance(self.command, Home) else (self.command.x, self.command.y)

    def same(self, command: Command) -> bool:
        """Whether a command asks for what is under way already."""
        return command == self.command

    def take(self, told: Told) -> None:
        """Its command is answered, if it is not yet."""
        if not self.answered:
            self.answered = True
            told.answers.append(("A", self.command.letter, ""))

    def taken(self, line: Line, now_s: float, told: Told) -> None:
        """One of its lines was."""
        if line.use in (Use.MOVE, Use.HOME):
            self.take(told)
            self.step, self.going_s = Step.GOING, now_s
        elif line.use is Use.DWELL and self.step is Step.DWELLING:
            self.step = Step.DWELT

    def refused(self, line: Line, words: str, told: Told) -> bool:
        """One of its lines was: returns whether that ends it. Not every board knows a dwell."""
        if line.use is Use.DWELL:
            self.step = Step.DWELT
            return False
        if self.answered:
            told.events.append(("stalled", words))
        else:
            told.answers.append(("N", self.command.letter, words))
        return True

    def lost(self, line: Line) -> bool:
        """No answer came to one of its lines: returns whether it is to be told anew."""
        if line.use is Use.DWELL:
            self.step = Step.GOING
        return line.use in (Use.MOVE, Use.HOME)

    def turn(self, stand: Stand, fresh: bool, outbox: Outbox, now_s: float, told: Told) -> bool:
        """What follows from the place, `fresh` where one was told just now: whether it is over."""
        if self.step is Step.SENT:
            if self.homes and outbox.out is not None and now_s - self.since_s > TAKEN_S:
                self.take(told)
            return False
        if not fresh or stand.at is None:
            return False
        near = stand.axes.near(stand.at, self.target)
        stands = min(stand.still_s, now_s - self.going_s) > STILL_S
        if self.step is Step.GOING and near:
            outbox.put(DWELL)
            self.step = Step.DWELLING
        elif self.step is Step.DWELT and near:
            told.events.append(("homed" if self.homes else "arrived", ""))
            return True
        elif not near and stands and self.step is not Step.DWELLING:
            return self._elsewhere(stand, told)
        return False

    def _elsewhere(self, stand: Stand, told: Told) -> bool:
        """It has stood long enough where it was not sent."""
        if self.homes:
            told.events.append(("homed", ""))
        elif stand.at is not None:
            sent = stand.axes.words(_full(self.target, stand.at))
            told.events.append(
                ("stalled", f"it stands at {stand.axes.words(stand.at)} and was sent to {sent}")
            )
        return True


def _full(target: tuple[int | None, int | None], at: tuple[int, int]) -> tuple[int, int]:
    x, y = target
    return at[0] if x is None else x, at[1] if y is None else y


@dataclass(slots=True)
class Halting:
    """The halt was sent: it is answered once the board greets, or is seen to stand."""

    since_s: float
    first_s: float | None = None

    def turn(self, stand: Stand, fresh: bool, greeted: bool, now_s: float, told: Told) -> bool:
        """Whether it is over. Places told before it was sent are none of its."""
        if fresh and self.first_s is None:
            self.first_s = now_s
        stands = (
            fresh
            and self.first_s is not None
            and now_s - max(self.first_s, stand.since_s) >= TWICE_S
        )
        if not (greeted or stands):
            return False
        told.answers.append(("A", "K", ""))
        told.events.append(("halted", ""))
        return True


def misplaced(axes: Axes, stand: Stand) -> str:
    """What is wrong after homing where the board does not stand at its zero; empty if it does."""
    if stand.at is None or axes.near(stand.at, (0, 0)):
        return ""
    return (
        f"after homing the board says {axes.words(stand.at)}, and by home_mm in the rig file it "
        f"should say {axes.words((0, 0 if axes.across else stand.at[1]))}; write there what it says"
    )
