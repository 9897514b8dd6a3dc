"""The one work under way, the last ones that ended, and who may begin the next."""

from __future__ import annotations

import logging
import secrets
import threading
from collections import OrderedDict
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any, Literal

from daq.daemon.hub import Hub
from daq.daemon.question import Answer, Question
from daq.daemon.work import WORDS, Work
from daq.errors import InputError, NeckformError, RigError

MOST_REMEMBERED = 20
State = Literal["waiting", "running", "done", "failed", "stopped"]
LOG = logging.getLogger("neckform.work")


class Busy(RigError):
    """Another work is under way."""


@dataclass(slots=True)
class Running:
    """One work, and what became of it.

    result: as JSON, once it is done. error: once it failed, or what is kept of it once it was
    stopped. number: of the event that told of its beginning; whoever began it wants to hear what
    comes after that.
    """

    asked: Work
    id: str = field(default_factory=lambda: secrets.token_hex(6))
    began: datetime = field(default_factory=lambda: datetime.now(UTC))
    state: State = "waiting"
    number: int = 0
    result: Any = None
    error: NeckformError | None = None
    question: Question | None = None
    cancelled: bool = False

    @property
    def over(self) -> bool:
        return self.state in ("done", "failed", "stopped")

    @property
    def words(self) -> str:
        """As a message calls it."""
        return f"{WORDS[self.asked.kind]} ({self.id}) since {self.began.astimezone():%H:%M:%S}"


class Works:
    """One at a time. The thread that has the rig takes and ends them; others give and ask."""

    def __init__(self, hub: Hub) -> None:
        self._hub = hub
        self._lock = threading.Lock()
        self._works: OrderedDict[str, Running] = OrderedDict()
        self._now: Running | None = None

    @property
    def now(self) -> Running | None:
        """The one under way."""
        return self._now

    def find(self, id_: str) -> Running | None:
        """One of the last twenty."""
        return self._works.get(id_)

    def all(self) -> list[Running]:
        """Those remembered, oldest first."""
        with self._lock:
            return list(self._works.values())

    @property
    def due(self) -> bool:
        """Whether the rig's thread has something to take: a work that may be begun."""
        work = self._now
        return work is not None and (work.question is None or work.question.is_over)

    def check_free(self) -> None:
        """Raises Busy where a work is under way, or waits to be."""
        work = self._now
        if work is not None:
            raise Busy(f"the rig is at work: {work.words}; wait until that has ended, or stop it")

    def give(self, asked: Work, first: Question | None = None) -> Running:
        """A new work, to be taken by the rig's thread. Raises Busy.

        first: what a person must say yes to before it is begun.
        """
        with self._lock:
            self.check_free()
            work = self._now = Running(asked)
            work.number = self._hub.last_number
            self._works[work.id] = work
            while len(self._works) > MOST_REMEMBERED:
                self._works.popitem(last=False)
            if first is not None:
                self._put(work, first)
        return work

    def take(self) -> Running | None:
        """The work that waits to be begun; it runs from now on."""
        work = self._now
        if work is None or work.state != "waiting" or not self._may_begin(work):
            return None
        work.state = "running"
        self._tell(work, "work_began")
        return work

    def ask(self, text: str) -> None:
        """A person is to do something; raises as `Question.wait`."""
        work = self._now
        assert work is not None, "only a work asks"
        question = Question(text)
        with self._lock:
            if work.cancelled:
                raise KeyboardInterrupt
            self._put(work, question)
        self._await(work, question)

    def answer(self, id_: str, answer: Answer) -> bool:
        """Whether that question was waiting for it."""
        work = self._now
        question = None if work is None else work.question
        return question is not None and question.id == id_ and question.answer(answer)

    def stopping(self, work: Running) -> bool:
        """Whether it runs and is now to be stopped for the first time; a question is given up."""
        with self._lock:
            if work.over or work.cancelled:
                return False
            work.cancelled = True
            question = work.question
        if question is not None:
            question.answer("stop")
        return question is None

    def end(
        self, work: Running, state: State, result: Any = None, error: NeckformError | None = None
    ) -> None:
        """It is over."""
        self._withdraw(work)
        with self._lock:
            work.result, work.error, work.state = result, error, state
            self._now = None
        self._tell(work, "work_ended")

    def give_up(self, why: str) -> None:
        """A work that has not begun never will."""
        work = self._now
        if work is not None and work.cancelled:
            self.end(work, "stopped")
        elif work is not None:
            self.end(work, "failed", error=RigError(why))

    def _may_begin(self, work: Running) -> bool:
        """Whether a person has said so, or need not; where they refused, it is over."""
        question = work.question
        if question is None:
            return True
        if not question.is_over:
            return False
        try:
            self._await(work, question)
        except KeyboardInterrupt:
            self.end(work, "stopped")
        except InputError as nobody:
            self.end(work, "failed", error=nobody)
        return not work.over

    def _put(self, work: Running, question: Question) -> None:
        work.question = question
        told = {"work": work.id, "kind": work.asked.kind, "id": question.id}
        told["text"] = question.text
        self._hub.publish("question", told)
        LOG.info("question", extra={"work": work.id, "text": question.text})

    def _await(self, work: Running, question: Question) -> None:
        try:
            question.wait()
        finally:
            self._withdraw(work)

    def _withdraw(self, work: Running) -> None:
        """Its question, if it has one, is no longer asked."""
        question, work.question = work.question, None
        if question is not None:
            self._hub.publish("answered", {"work": work.id, "id": question.id})

    def _tell(self, work: Running, event: str) -> None:
        why = str(work.error) if work.error else ""
        told = {"work": work.id, "kind": work.asked.kind, "state": work.state}
        self._hub.publish(event, {**told, "why": why})
        LOG.info(event, extra={**told, "why": why})
