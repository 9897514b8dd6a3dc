"""Small text files that are either there whole or not there: writing, reading, locking."""

from __future__ import annotations

import fcntl
import json
import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from daq.errors import FileError


def atomic_write_text(path: Path, text: str) -> None:
    """Put a text in place of whatever was at `path`, whole or not at all.

    Written beside, synced, renamed, and the folder synced: a reader, or a power cut, finds the
    old text or the new one. Makes the folder if need be. Raises FileError.
    """
    beside = path.with_name(f".{path.name}.{secrets.token_hex(4)}.tmp")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        try:
            _write_synced(beside, text.encode("utf-8"))
            beside.rename(path)
        except BaseException:
            with suppress(OSError):
                beside.unlink(missing_ok=True)
            raise
        sync_folder(path.parent)
    except (OSError, ValueError) as error:
        why = f"could not be written ({reason(error)}); what was there before is unchanged"
        raise FileError(f"{path}: {why}") from error


def _write_synced(path: Path, data: bytes) -> None:
    # "x": another writer's half-written file is never taken over
    with path.open("xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def sync_folder(folder: Path) -> None:
    """Make a rename in a folder last through a power cut."""
    number = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(number)
    finally:
        os.close(number)


def read_stored_text(path: Path) -> str:
    """A UTF-8 text this program wrote. Raises FileError, naming the file."""
    try:
        return path.read_bytes().decode("utf-8")
    except (OSError, ValueError) as error:
        raise FileError(f"{path}: could not be read ({reason(error)})") from error


def read_json(path: Path) -> object:
    """A JSON document this program wrote.

    Raises FileError, naming the file, where it is missing or damaged: a damaged file is never
    taken for an empty one.
    """
    return json_document(read_stored_text(path), path)


def read_group(path: Path) -> dict[str, Any]:
    """A stored document that is a group of keys. Raises FileError, as `read_json` does."""
    document = read_json(path)
    if not isinstance(document, dict):
        raise FileError(f"{path}: found no group of keys; the file is damaged: put back a copy")
    return document


def json_document(text: str, path: Path) -> object:
    """The document in a JSON text; `path` is for the message. Raises FileError."""
    try:
        document: object = json.loads(text, parse_constant=_no_constant)
    except (ValueError, RecursionError) as error:
        raise FileError(
            f"{path}: found a damaged file ({reason(error)}); allowed whole JSON; "
            "put back a copy, or move it away to begin anew"
        ) from error
    return document


def json_text(document: object) -> str:
    """JSON as it is kept: readable, no NaN. Raises ValueError for what JSON cannot hold."""
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _no_constant(word: str) -> float:
    raise ValueError(f"{word} is no JSON")


def reason(error: BaseException) -> str:
    """Why, in one line: the system's own words where there are any."""
    words = getattr(error, "strerror", None) or str(error) or type(error).__name__
    return " ".join(str(words).split())


@contextmanager
def locked(path: Path) -> Iterator[None]:
    """Hold a lock on a file while its content is read and replaced; waits for other processes.

    The lock is on `.NAME.lock` beside it, because the file itself is exchanged by renames.
    Raises FileError where the lock file cannot be opened.
    """
    lock = path.with_name(f".{path.name}.lock")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        file = lock.open("ab")
    except OSError as error:
        raise FileError(f"{lock}: could not be opened ({reason(error)})") from error
    with file:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield
