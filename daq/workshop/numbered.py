"""Folders whose files are numbered in the order they were made: 001-strung.h5, 002-…"""

from __future__ import annotations

import re
from pathlib import Path

NUMBERED = re.compile(r"(?P<number>[0-9]{3,9})(?:-(?P<tail>[^.]*))?\..+")
LONGEST_SLUG = 40


def number_of(path: Path) -> int | None:
    """The number a file's name begins with, None where it is no numbered file."""
    match = NUMBERED.fullmatch(path.name)
    return int(match["number"]) if match else None


def tail_of(path: Path) -> str:
    """What stands between number and ending: `strung-before` of `001-strung-before.h5`."""
    match = NUMBERED.fullmatch(path.name)
    return (match["tail"] or "") if match else ""


def numbered_files(folder: Path, ending: str) -> list[Path]:
    """The files with that ending, by number; empty where there is no folder."""
    found = [path for path in _entries(folder) if path.suffix == ending]
    return sorted(found, key=lambda path: (number_of(path) or 0, path.name))


def next_path(folder: Path, tail: str, ending: str) -> Path:
    """Where the next file goes. Nothing is made.

    Every numbered file counts, whatever its ending: the journal of a scan still to be recovered
    holds its number as the scan itself does.
    """
    number = 1 + max((number_of(path) or 0 for path in _entries(folder)), default=0)
    return folder / f"{number:03d}{'-' if tail else ''}{tail}{ending}"


def slug(text: str) -> str:
    """A label as part of a file name: lower case letters, digits and single hyphens."""
    words = re.findall(r"[^\W_]+", text.lower())
    return "-".join(words)[:LONGEST_SLUG].strip("-")


def _entries(folder: Path) -> list[Path]:
    if not folder.is_dir():
        return []
    return [path for path in folder.iterdir() if number_of(path) is not None]
