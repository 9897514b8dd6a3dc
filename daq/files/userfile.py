"""What every file a person writes has in common, and the one way it is read."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TypeVar

from pydantic import BaseModel, ConfigDict, PrivateAttr, ValidationError

from daq.errors import InputError
from daq.files.faults import Fault
from daq.files.known import Known
from daq.files.located import Located, locate
from daq.files.schema import schema_faults

Rules = Callable[[Known], Iterator[Fault]]


class Keys(BaseModel):
    """A group of keys: no others allowed, nothing converted, never changed."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


class UserFile(Keys):
    """A whole file."""

    _text: str = PrivateAttr(default="")

    @property
    def text(self) -> str:
        """The file's own text, as it is kept beside results."""
        return self._text


FileT = TypeVar("FileT", bound=UserFile)


def parse(model: type[FileT], rules: Rules, text: str, name: str) -> FileT:
    """Text to a checked file.

    name: the file's name, for messages.
    Raises InputError with a line `name:line: key.path: found …; allowed …` for every fault there
    is, in the order of the file.
    """
    parsed = parse_located(model, rules, locate(text, name), name)
    parsed._text = text
    return parsed


def parse_located(model: type[FileT], rules: Rules, located: Located, name: str) -> FileT:
    """The same of what was read already; without its text."""
    faults = list(located.faults)
    parsed: FileT | None = None
    try:
        parsed = model.model_validate(located.data)
    except ValidationError as error:
        faults += schema_faults(error, model, located)
    known = Known(located.data, (fault.path for fault in faults if fault.path))
    faults += rules(known)
    if parsed is None or faults:
        raise InputError(told(faults, located, name))
    return parsed


def told(faults: list[Fault], located: Located, name: str) -> str:
    """The lines of all faults, in the order of the file, none twice."""
    placed = [(fault.line or located.line(fault.path), fault) for fault in faults]
    placed.sort(key=lambda pair: pair[0])
    lines = (f"{name}:{line}: {fault.text()}" for line, fault in placed)
    return "\n".join(dict.fromkeys(lines))
