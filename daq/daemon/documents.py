"""The answers of the daemon, as its description (OpenAPI) has them."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Literal

from pydantic import BaseModel

from daq.daemon.question import Answer, Question
from daq.daemon.works import Running
from daq.errors import NeckformError


class Fault(BaseModel):
    """Why something was refused or failed: kind is InputError, RigError or FileError; message is
    one line: what, where, found, allowed, what to do next."""

    kind: str
    message: str


class RigAnswer(BaseModel):
    """What is served. text: the rig file, word for word. simulated: it is made of software."""

    name: str
    program: str
    workshop: str
    text: str
    rate_hz: float
    travel_mm: tuple[float, float]
    pads_mm: list[tuple[float, float]]
    drive: str
    simulated: bool


class QuestionAnswer(BaseModel):
    """Something a person is to do before the work goes on."""

    id: str
    text: str


class WorkAnswer(BaseModel):
    """One work. event: the number of the last event before it began."""

    id: str
    kind: str
    state: Literal["waiting", "running", "done", "failed", "stopped"]
    began: datetime
    event: int
    question: QuestionAnswer | None
    error: Fault | None


class StateAnswer(BaseModel):
    """How the rig is now. event: the number of the newest event that is kept."""

    state: Literal["connecting", "watching", "working", "gone", "ended"]
    since: datetime
    why: str
    devices: list[str]
    work: WorkAnswer | None
    event: int


class ProfileAnswer(BaseModel):
    """Least and greatest reading in each bin along the carriage's travel, since the pass began."""

    from_mm: float
    bin_mm: float
    first: int
    low: list[float | None]
    high: list[float | None]


class ResultAnswer(BaseModel):
    """What a work came to: a recording's path, a check's findings, passes, or samples."""

    id: str
    kind: str
    result: Any


class Answered(BaseModel):
    """To a question. done: it is done; stop: give the work up; nobody: nobody is there."""

    answer: Answer


def fault(error: NeckformError) -> Fault:
    """As it is answered: of the three kinds the one it is."""
    kinds = [kind.__name__ for kind in type(error).__mro__ if kind.__module__ == "daq.errors"]
    return Fault(kind=kinds[0], message=str(error))


def work_answer(work: Running) -> WorkAnswer:
    """As it stands."""
    return WorkAnswer(
        id=work.id,
        kind=work.asked.kind,
        state=work.state,
        began=work.began,
        event=work.number,
        question=_question(work.question),
        error=None if work.error is None else fault(work.error),
    )


def _question(question: Question | None) -> QuestionAnswer | None:
    return None if question is None else QuestionAnswer(id=question.id, text=question.text)
