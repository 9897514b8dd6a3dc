"""The answers about jobs, as the daemon's description (OpenAPI) has them."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Literal

from pydantic import BaseModel

from daq.figures.picture import Picture

NextDo = Literal[
    "scan strung", "scan unstrung", "plan", "file", "scan after", "verify", "string up", "report"
]


class JobEntry(BaseModel):
    """A job in the list. changed: when something was last put into it. fault: why its instrument
    file cannot be read; then strings and frets are not known."""

    name: str
    instrument: str
    strings: int | None
    frets: int | None
    scans: int
    plans: int
    checks: int
    changed: datetime
    fault: str | None


class JobsAnswer(BaseModel):
    """Every job of the workshop, by name."""

    jobs: list[JobEntry]


class InstrumentEntry(BaseModel):
    """notes: what to know of its strings, a sentence each."""

    name: str
    strings: int
    frets: int
    body_joint_fret: int
    notes: list[str]


class ScanEntry(BaseModel):
    """made: when it was begun, ISO 8601. rod_turns: from where the rod stood when the job was
    opened, tightening positive. fault: why the file cannot be read; then both are not known."""

    file: str
    number: int
    state: str
    label: str
    made: str | None
    rod_turns: float | None
    fault: str | None


class PlanEntry(BaseModel):
    """metal_um: planned, summed over all places."""

    file: str
    made: str | None
    feasible: bool
    metal_um: float | None
    player: str | None
    fault: str | None


class CheckEntry(BaseModel):
    """plan: the file that it is of."""

    file: str
    made: str | None
    plan: str | None
    fault: str | None


class Next(BaseModel):
    """What the job wants done now."""

    do: NextDo
    words: str


class JobAnswer(BaseModel):
    """One job, in the order of the work."""

    name: str
    folder: str
    instrument: InstrumentEntry
    scans: list[ScanEntry]
    plans: list[PlanEntry]
    checks: list[CheckEntry]
    next: Next


class PictureAnswer(BaseModel):
    """title: its name. words: how to read it. svg: the drawing."""

    title: str
    words: str
    svg: str


class FoundAnswer(BaseModel):
    """One state as it was measured. cautions: what does not hold for sure."""

    state: str
    sentences: list[str]
    cautions: list[str]
    pictures: list[PictureAnswer]


class CompareAnswer(BaseModel):
    """Two states, or before and after the file."""

    sentences: list[str]
    pictures: list[PictureAnswer]


class AskedAnswer(BaseModel):
    """asked: the keys of a target file. revision: counts what was moved. ranges: least, most and
    step of every number that can be moved, by its path."""

    asked: dict[str, Any]
    revision: int
    players: list[str]
    ranges: dict[str, tuple[float, float, float]]


class WhyAnswer(BaseModel):
    """sentences: what is in the way. cures: what would help, each alone."""

    sentences: list[str]
    cures: list[str]


class PlanKept(BaseModel):
    """document: as `neckform plan --json`. command: what to type for the same plan."""

    document: dict[str, Any]
    file: str
    command: str


class CheckKept(BaseModel):
    """document: as `neckform verify --json`."""

    document: dict[str, Any]
    file: str
    sentences: list[str]


def picture_answer(picture: Picture) -> PictureAnswer:
    """As it is sent."""
    return PictureAnswer(title=picture.title, words=picture.words, svg=str(picture.svg))
