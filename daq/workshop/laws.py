"""What earlier cuts have taught: planned against achieved, kept between jobs."""

from __future__ import annotations

from collections.abc import Container
from pathlib import Path
from typing import Annotated, Self

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from daq.errors import FileError
from daq.workshop.store import atomic_write_text, json_text, locked, read_json

Number = Annotated[float, Field(allow_inf_nan=False)]


class LawEntry(BaseModel):
    """One verified cut, all lists of one length, micrometres.

    made: ISO 8601 with offset. u_um: standard uncertainties of achieved_um.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    job: str
    made: str
    tool: str
    metal: str
    planned_um: tuple[Number, ...]
    achieved_um: tuple[Number, ...]
    u_um: tuple[Number, ...]

    @model_validator(mode="after")
    def _of_one_length(self) -> Self:
        if not len(self.planned_um) == len(self.achieved_um) == len(self.u_um):
            raise ValueError("planned_um, achieved_um and u_um must be of one length")
        return self


class _Book(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)

    version: Annotated[int, Field(ge=1, le=1)] = 1
    entries: tuple[LawEntry, ...] = ()


class LawBook:
    """The file of all entries."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def entries(self) -> tuple[LawEntry, ...]:
        """Every entry, oldest first; none where there is no file yet.

        Raises FileError where the file is damaged.
        """
        if not self.path.exists():
            return ()
        try:
            return _Book.model_validate(read_json(self.path)).entries
        except ValidationError as error:
            first = error.errors(include_url=False)[0]
            key = ".".join(str(step) for step in first["loc"])
            where = f"{key}: " if key else ""
            raise FileError(
                f"{self.path}: {where}found a damaged file ({first['msg']}); allowed the laws "
                "this program wrote; put back a copy, or move it away to begin anew"
            ) from error

    def append(self, entry: LawEntry, instead_of: Container[str] = ()) -> None:
        """Add an entry. Two processes at once both keep theirs. Raises FileError.

        instead_of: jobs of entries that this one makes part of itself; they go.
        """
        with locked(self.path):
            kept = [one for one in self.entries() if one.job not in instead_of]
            book = _Book(entries=(*kept, entry))
            atomic_write_text(self.path, json_text(book.model_dump(mode="json")))
