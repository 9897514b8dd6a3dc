"""Where a url leads: on this machine to a path, elsewhere to a store that fsspec knows."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any, Final

import fsspec

_SCHEME: Final = re.compile(r"[a-z][a-z0-9+.-]*://")
_HERE: Final = ("file://", "local://")


def local_path(url: str) -> Path | None:
    """The path of what lies on this machine, None of what does not."""
    here = next((scheme for scheme in _HERE if url.startswith(scheme)), None)
    if here is not None:
        return Path(url.removeprefix(here))
    return None if _SCHEME.match(url) else Path(url)


def whole_url(place: str) -> str:
    """A folder as the archive has it, without a slash at the end. Raises what a store raises."""
    path = local_path(place)
    if path is not None:
        return str(path.expanduser().resolve())
    store, far = store_of(place)
    return str(store.unstrip_protocol(far)).rstrip("/")


def store_of(url: str) -> tuple[Any, str]:
    """The file system of what does not lie on this machine, and the path there. Raises what a
    store raises, and ImportError where its library is missing."""
    store, path = fsspec.core.url_to_fs(url)
    return store, str(path)
