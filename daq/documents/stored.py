"""Reading back what this program stored: one clear line where a document is damaged."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from daq.errors import FileError


def entries(document: object, key: str, what: str) -> list[Mapping[str, Any]]:
    """The groups listed under a key. Raises FileError."""
    listed = document.get(key) if isinstance(document, Mapping) else None
    if not isinstance(listed, list):
        raise damaged(what, key, "no list", "a list")
    for number, entry in enumerate(listed):
        if not isinstance(entry, Mapping):
            raise damaged(what, f"{key}[{number}]", "no group of keys", "a group of keys")
    return listed


def whole(entry: Mapping[str, Any], key: str, where: str, what: str, last: int) -> int:
    """A whole number from 1 to last. Raises FileError."""
    value = entry.get(key)
    if type(value) is not int or not 1 <= value <= last:
        raise damaged(what, f"{where}.{key}", repr(value), f"1 to {last}")
    return value


def number(entry: Mapping[str, Any], key: str, where: str, what: str) -> float:
    """A number, NaN where the document says null. Raises FileError."""
    value = entry.get(key, "nothing")
    if value is None:
        return math.nan
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise damaged(what, f"{where}.{key}", repr(value), "a number")
    return float(value)


def damaged(what: str, where: str, found: str, allowed: str) -> FileError:
    """The error of a document that is damaged or belongs elsewhere."""
    return FileError(
        f"{what}: {where}: found {found}; allowed {allowed}; "
        "it is damaged or belongs to another instrument: make it again"
    )
