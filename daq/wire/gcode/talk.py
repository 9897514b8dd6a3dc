"""The host's half of the talk with a board, which tells no ends and knows no streams."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, assert_never

from daq.wire.commands import Command, Halt, Hello, Home, Move, Stop, Stream
from daq.wire.gcode.decode import ACCEPTED, REFUSED
from daq.wire.gcode.greeting import Greeting, Stage
from daq.wire.gcode.motions import Halting, Motion, Told, misplaced
from daq.wire.gcode.outbox import Line, Outbox, Use
from daq.wire.gcode.poll import WATCH_HZ, Poll
from daq.wire.gcode.stand import Stand
from daq.wire.records import Batch, Event, Reply

if TYPE_CHECKING:
    from daq.wire.gcode.dialect import GcodeDialect

SOON_S = 0.002
AGAIN_S = 5.0
"""A homing asked for again sooner is the same one."""


class GcodeTalk:
    """Streaming is asking for the place over and over; a motion is watched to its end the same
    way, seldom where nobody measures. A halt goes out before anything that waits."""

    def __init__(self, dialect: GcodeDialect) -> None:
        self._axes = dialect.axes
        self._own_mm_s = dialect.own_mm_s
        self._query = dialect.query
        self._home, self._halt = dialect.home, dialect.halt
        self._greeting = Greeting(
            dialect.query, dialect.position, dialect.accepted, tuple(dialect.start)
        )
        self._poll = Poll(dialect.query, dialect.most_hz)
        self._outbox = Outbox(asked_by_line=self._poll.is_line)
        self._stand = Stand(self._axes)
        self._motion: Motion | None = None
        self._halting: Halting | None = None
        self._told = Told()
        self._stream_hz = 0.0
        self._fresh_board = False
        self._misplaced = ""
        self._samples = 0

    def say(self, command: Command, now_s: float) -> bytes:
        """What goes out at once; lines that must wait for an answer go out when they are due."""
        match command:
            case Hello():
                self._stand.forget()
                self._greeting.hello(now_s)
            case Stream(rate_hz):
                self._stream_hz = rate_hz
                self._poll.at_once()
                self._told.answers.append(("A", command.letter, ""))
            case Stop():
                self._stream_hz = 0.0
                self._told.answers.append(("A", command.letter, ""))
            case Move() | Home():
                self._set_off(command, now_s)
            case Halt():
                return self._halt_now(now_s)
            case _:
                assert_never(command)
        self._set_rate()
        return self.due(now_s)

    def due(self, now_s: float) -> bytes:
        """The next line, or the question where it is."""
        out = self._outbox.due(now_s, self._samples)
        if self._waits_to_ask or self._poll.due_in_s(now_s) > 0.0:
            return out
        self._poll.asked(now_s)
        if self._poll.is_line:
            return out + self._outbox.send(Line(self._query, Use.QUERY), now_s, self._samples)
        return out + self._query.encode("latin-1")

    def due_in_s(self, now_s: float) -> float:
        """0 where there is something to hear from here, too.

        A question that waits for an answer is looked at again soon: its turn may have come.
        """
        if self._told.answers or self._told.events:
            return 0.0
        asked_s = max(self._poll.due_in_s(now_s), SOON_S if self._waits_to_ask else 0.0)
        return min(self._outbox.due_in_s(now_s), asked_s)

    def hear(self, batch: Batch, now_s: float) -> Batch:
        """Answers and ends, made of what the board said and where it is."""
        greeted = self._hear_events(batch, now_s)
        if batch.bad_frames:
            self._greeting.strange(batch.bad_example)
        fresh = self._hear_places(batch, now_s)
        for reply in batch.replies:
            self._hear_reply(reply, now_s)
        lost = self._outbox.given_up(now_s)
        if lost is not None:
            self._give_up(lost)
        self._turn(fresh, greeted, now_s)
        self._set_rate()
        return self._with_what_is_told(batch, lost)

    @property
    def _waits_to_ask(self) -> bool:
        """A question that is a line does until nothing else is out."""
        return self._poll.is_line and not self._outbox.asks_now

    def _set_rate(self) -> None:
        watched = (
            self._motion is not None
            or self._greeting.stage is Stage.ASKING
            or self._outbox.wants_asking
        )
        rate_hz = max(self._stream_hz, WATCH_HZ if watched else 0.0)
        self._poll.set_rate(self._poll.most_hz if self._halting else rate_hz)

    def _set_off(self, command: Move | Home, now_s: float) -> None:
        under_way = self._motion
        if (
            under_way is not None
            and under_way.same(command)
            and self._outbox.has(Use.HOME if under_way.homes else Use.MOVE)
            and now_s - under_way.since_s < AGAIN_S
        ):
            return  # asked for once more before the answer could come
        if isinstance(command, Move) and self._misplaced:
            self._told.answers.append(("N", command.letter, self._misplaced))
            return
        self._outbox.clear()
        if self._fresh_board:
            self._greeting.start(self._outbox)
            self._fresh_board = False
        self._motion = Motion(command, now_s)
        self._halting = None
        if isinstance(command, Home):
            self._misplaced = ""
            self._outbox.put(Line(self._home, Use.HOME))
        else:
            text = self._axes.move(command, self._stand.at, self._own_mm_s)
            self._outbox.put(Line(text, Use.MOVE))

    def _halt_now(self, now_s: float) -> bytes:
        """Before anything that waits; and what waits is never sent."""
        self._outbox.upset(now_s)
        self._motion = None
        self._halting = Halting(now_s)
        self._poll.at_once()
        self._set_rate()
        if len(self._halt) == 1:
            return self._halt.encode("latin-1")
        return self._halt.encode("ascii") + b"\n"

    def _hear_events(self, batch: Batch, now_s: float) -> bool:
        """Whether the board greeted."""
        greeted = [event for event in batch.events if event.word == "reset"]
        if batch.events:
            self._motion = None  # an alarm or a reset: nothing moves any more
            self._outbox.upset(now_s)
        if greeted:
            self._greeting.reset(greeted[-1].text, now_s)
            self._stand.forget()
            self._fresh_board = True
        return bool(greeted)

    def _hear_places(self, batch: Batch, now_s: float) -> bool:
        """Whether a place was told."""
        samples = batch.samples
        if not len(samples):
            return False
        self._samples += len(samples)
        at = int(samples.x[-1]), int(samples.y[-1])
        came_us = int(samples.t_us[-1])
        self._watch_leaps(at, came_us)
        self._stand.seen(at, now_s, came_us)
        if self._greeting.stage is Stage.ASKING:
            self._fresh_board = False
        self._greeting.place(self._outbox)
        return True

    def _watch_leaps(self, at: tuple[int, int], came_us: int) -> None:
        """A carriage that is elsewhere at once: the board started anew unseen, or tells where it
        is going."""
        motion = self._motion
        if motion is not None and motion.homes:
            return
        mm_s = self._own_mm_s
        if motion is not None and isinstance(motion.command, Move) and motion.command.speed:
            mm_s = motion.command.speed * self._axes.along.mm_per_count
        if self._stand.at is None or not self._stand.leaps(at, came_us, mm_s):
            return
        self._told.events.append(
            (
                "reset",
                f"from {self._axes.words(self._stand.at)} to {self._axes.words(at)} at once: "
                f"{self._query} tells where it is sent and not where it is, or the board started "
                "anew",
            )
        )
        self._motion = None

    def _hear_reply(self, reply: Reply, now_s: float) -> None:
        if reply.kind not in (ACCEPTED, REFUSED):
            return
        if reply.kind == REFUSED:
            line = self._outbox.refused()
            if line is not None:
                self._refused(line, reply.fields[1])
            return
        line = self._outbox.accepted(reply.at_sample, now_s)
        if line is not None and self._motion is not None:
            self._motion.taken(line, now_s, self._told)
            if line.use is Use.DWELL:
                self._poll.at_once()

    def _refused(self, line: Line, words: str) -> None:
        if self._greeting.stage is not Stage.QUIET and line.use in (Use.START, Use.QUERY):
            self._outbox.clear()
            self._greeting.refused(line, words, self._told)
        elif self._motion is not None and line.use is not Use.QUERY:
            words = f"{words} (to {line.text})"
            if self._motion.refused(line, words, self._told):
                self._outbox.clear()
                self._motion = None

    def _give_up(self, line: Line) -> None:
        """An answer was lost: what was asked for is asked for again, by whoever wants it."""
        if line.use is Use.START and self._greeting.stage is Stage.STARTING:
            self._outbox.clear()
            self._greeting.unanswered(line, self._told)
        elif self._motion is not None and self._motion.lost(line):
            self._motion = None

    def _turn(self, fresh: bool, greeted: bool, now_s: float) -> None:
        told = self._told
        self._greeting.turn(self._outbox, self._poll.most_hz, now_s, told)
        if self._halting is not None and self._halting.turn(
            self._stand, fresh, greeted, now_s, told
        ):
            self._halting = None
        motion = self._motion
        if motion is not None and motion.turn(self._stand, fresh, self._outbox, now_s, told):
            self._misplaced = misplaced(self._axes, self._stand) if motion.homes else ""
            self._motion = None

    def _with_what_is_told(self, batch: Batch, lost: Line | None) -> Batch:
        told, self._told = self._told, Told()
        if not (told.answers or told.events or lost):
            return batch
        t_us = int(batch.samples.t_us[-1]) if len(batch.samples) else 0
        replies = [Reply(kind, _fields(kind, *rest), self._samples) for kind, *rest in told.answers]
        events = [Event(t_us, word, text, self._samples) for word, text in told.events]
        missing = f"no answer came to {lost.text}".encode("latin-1") if lost else b""
        return replace(
            batch,
            replies=(*batch.replies, *replies),
            events=(*batch.events, *events),
            bad_frames=batch.bad_frames + (lost is not None),
            bad_example=batch.bad_example or missing,
        )


def _fields(kind: str, about: str, reason: str) -> tuple[str, ...]:
    if kind == "H":
        return ("1", about, reason)
    return (about, reason) if kind == "N" else (about,)
