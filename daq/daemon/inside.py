"""A path that somebody sent: it stays inside the workshop, or it is refused."""

from __future__ import annotations

from pathlib import Path, PurePosixPath

from daq.errors import InputError


def inside(root: Path, sent: str) -> Path:
    """Where a new scan goes: `sent` under the workshop's folder, links followed.

    Raises InputError for anything that is absolute, goes up, leads out through a link, is hidden
    or is no scan file's name.
    """
    pure = PurePosixPath(sent)
    wrong = pure.is_absolute() or any(part.startswith(".") for part in pure.parts)
    if wrong or "\0" in sent or "\\" in sent or pure.suffix != ".h5":
        raise InputError(
            f"path: found {sent[:80]!r}; allowed a path within the workshop that ends in .h5, "
            "without .. in it"
        )
    home = root.resolve()
    try:
        path = (home / pure).resolve()
    except (OSError, RuntimeError) as error:  # links in a circle
        raise InputError(f"path: found {sent[:80]!r}, which leads nowhere ({error})") from error
    if not path.is_relative_to(home):
        raise InputError(f"path: found {sent[:80]!r}, which leads out of the workshop {home}")
    return path
