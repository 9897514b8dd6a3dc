"""Names that become folders: rigs and jobs."""

from __future__ import annotations

LONGEST_NAME = 64
ALLOWED_NAME = (
    f"1 to {LONGEST_NAME} letters, digits, spaces, '-', '_' or '.', "
    "beginning with a letter or digit and ending with neither space nor dot"
)


def is_folder_name(name: str) -> bool:
    """Whether a name is safe as a folder on any system: it cannot climb out or hide."""
    if not 1 <= len(name) <= LONGEST_NAME:
        return False
    if not name[0].isalnum() or name[-1] in " .":
        return False
    return all(letter.isalnum() or letter in " -_." for letter in name)
