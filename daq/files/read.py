"""A text file from disk to text: everything that can be wrong before its contents are looked at."""

from __future__ import annotations

from pathlib import Path

from daq.errors import InputError

LARGEST_BYTES = 1_000_000


def read_text(path: Path, what: str) -> str:
    """The file's text, line ends as they are.

    what: the kind of file in words, for the message: "rig file".
    Raises InputError, one line, for a path that is no file, is too large, cannot be read or is
    not UTF-8.
    """
    try:
        data = _read_bytes(path, what)
    except FileNotFoundError:
        raise InputError(f"{path}: found no such file; allowed {_a(what)} (YAML)") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        found = f"found a file that cannot be read ({reason})"
        raise InputError(f"{path}: {found}; allowed a readable {what} (YAML)") from None
    return _decode(data, path, what)


def _read_bytes(path: Path, what: str) -> bytes:
    if path.is_dir():
        raise InputError(f"{path}: found a folder; allowed {_a(what)} (YAML)")
    size = path.stat().st_size
    # a device or a pipe would never end, so only regular files are opened
    if not path.is_file():
        raise InputError(f"{path}: found no regular file; allowed {_a(what)} (YAML)")
    if size > LARGEST_BYTES:
        raise InputError(
            f"{path}: found {size} bytes; allowed at most {LARGEST_BYTES} in {_a(what)}; "
            "is this the right file?"
        )
    return path.read_bytes()


def _decode(data: bytes, path: Path, what: str) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise InputError(
            f"{path}:{line}: found a byte that is not UTF-8 (0x{data[error.start]:02X}); "
            f"allowed {_a(what)} saved as UTF-8 text"
        ) from None


def _a(what: str) -> str:
    return f"{'an' if what[0] in 'aeiou' else 'a'} {what}"
