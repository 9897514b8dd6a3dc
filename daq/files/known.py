"""What a file says, as far as it can be trusted: for rules that join several keys."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import cast

from daq.files.checks import is_number
from daq.files.faults import KeyPath


class Known:
    """Answers None for what is missing or already found at fault, so that one slip is told once.

    Rules run over this and not over the finished model, which does not exist while there is any
    fault: so they still speak when something else in the file is wrong.
    """

    def __init__(self, data: object, spoiled: Iterable[KeyPath]) -> None:
        self._data = data
        self._spoiled = frozenset(spoiled)

    def get(self, *path: int | str) -> object:
        """The value at a path; list entries count from 1."""
        if any(path[: len(bad)] == bad for bad in self._spoiled):
            return None
        value = self._data
        for step in path:
            value = _inside(value, step)
        return value

    def under(self, key: int | str) -> Known:
        """The group at a key, with paths of its own."""
        inside = (path[1:] for path in self._spoiled if path[0] == key and len(path) > 1)
        return Known(self.get(key), inside)

    def number(self, *path: int | str) -> float | None:
        """The number at a path."""
        value = self.get(*path)
        return float(cast(float, value)) if is_number(value) else None

    def text(self, *path: int | str) -> str | None:
        """The text at a path."""
        value = self.get(*path)
        return value if isinstance(value, str) else None

    def steps(self, *path: int | str) -> tuple[int | str, ...]:
        """The keys of a group, or 1, 2, … for a list; empty for anything else."""
        value = self.get(*path)
        if isinstance(value, Mapping):
            return tuple(value)
        return tuple(range(1, len(value) + 1)) if isinstance(value, tuple) else ()

    def pair(self, *path: int | str) -> tuple[float, float] | None:
        """The two numbers of a list at a path."""
        low, high = self.number(*path, 1), self.number(*path, 2)
        return None if low is None or high is None else (low, high)


def _inside(value: object, step: int | str) -> object:
    if isinstance(value, Mapping):
        return value.get(step)
    if isinstance(value, tuple) and isinstance(step, int) and 1 <= step <= len(value):
        return value[step - 1]
    return None
