"""The word that a daemon reached from elsewhere wants to hear with every request."""

from __future__ import annotations

import base64
import binascii
import hmac
import stat
from pathlib import Path

from daq.errors import InputError

LEAST_LENGTH = 16


def read_token(path: Path) -> str:
    """The token in a file: its one line. Raises InputError where it is missing, too short, or
    others than its owner can read it."""
    try:
        mode = path.stat().st_mode
        text = path.read_text("ascii").strip()
    except (OSError, ValueError) as error:
        raise InputError(f"--token-file {path}: cannot be read ({error})") from error
    if stat.S_IMODE(mode) & 0o077:
        raise InputError(
            f"--token-file {path}: found a file that others can read; allowed one of your own: "
            f"chmod 600 {path}"
        )
    if len(text) < LEAST_LENGTH or not text.isprintable() or " " in text:
        raise InputError(
            f"--token-file {path}: allowed one word of at least {LEAST_LENGTH} ASCII letters, for "
            f"example from: python3 -c 'import secrets; print(secrets.token_hex(24))' > {path}"
        )
    return text


def is_allowed(authorization: str, token: str) -> bool:
    """Whether a request's Authorization has the token: as Bearer, or as the password a browser
    asks for. The comparison takes as long however much of it is right."""
    scheme, _, value = authorization.partition(" ")
    if scheme.lower() == "bearer":
        given = value.strip()
    elif scheme.lower() == "basic":
        given = _password(value.strip())
    else:
        given = ""
    return hmac.compare_digest(given.encode("utf-8", "replace"), token.encode())


def _password(value: str) -> str:
    try:
        return base64.b64decode(value, validate=True).decode().partition(":")[2]
    except (binascii.Error, ValueError):
        return ""
