"""What is asked about a job, as a request has it."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

MOST_FIELDS = 500
Layer = Literal["height", "wear", "cut", "room"]


class _Request(BaseModel):
    model_config = ConfigDict(extra="forbid")


class NewJob(_Request):
    """instrument: the text of an instrument file."""

    name: str
    instrument: str


class Show(_Request):
    """What is drawn. fretted: where the string is held, null where it has least room. near: the
    string from close by; frets: the first and last that are drawn large, null for all."""

    layer: Layer = "room"
    string: int = 1
    fretted: int | None = None
    near: bool = False
    frets: tuple[int, int] | None = None


class Move(_Request):
    """Fields moved, by their paths, or everything that is asked at once; neither only draws.

    tab: of which window, told to the others.
    """

    tab: Annotated[str, Field(max_length=100)] = ""
    change: Annotated[dict[str, Any], Field(max_length=MOST_FIELDS)] = {}
    all: dict[str, Any] | None = None
    show: Show = Show()

    @model_validator(mode="after")
    def _one_of_both(self) -> Self:
        if self.all is not None and self.change:
            raise ValueError("either change or all, not both")
        return self


Words = Annotated[str, Field(min_length=1, max_length=80, pattern=r"^[^\x00-\x1f\x7f]+$")]


class KeepPlan(_Request):
    """With what, on what and with what at hand the plan is carried out."""

    tool: Words = "file"
    metal: Words = "nickel silver"
    beam_mm: float | None = None
    prop: bool = False


class Nothing(_Request):
    """An empty group."""
