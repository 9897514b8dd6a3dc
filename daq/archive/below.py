"""What of the archive lies under given folders."""

from __future__ import annotations

from collections.abc import Sequence


def below(folders: Sequence[str]) -> tuple[str, list[str]]:
    """A condition on the column url, and what it is given; of no folders: all. Not LIKE: a folder
    may be called 50%. folders: whole paths or urls, with or without a slash at the end."""
    if not folders:
        return "1", []
    # what begins with a folder and a slash: "0" is the sign after it
    bounds = [(f"{one}/", f"{one}0") for one in (folder.rstrip("/") for folder in folders)]
    either = " OR ".join("(url >= ? AND url < ?)" for _ in bounds)
    return f"({either})", [bound for pair in bounds for bound in pair]
