"""Files under any folders: of this machine, of a share, of an object store, by their URL."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from fsspec.implementations.local import LocalFileSystem

from daq.archive.store import local_path, store_of
from daq.archive.watched import BLOCK_BYTES, Watched
from daq.workshop.store import reason

#: How the names of scan files end.
ENDINGS: Final = (".h5", ".hdf5")
#: What a store calls the mark of a file's content or time, the surest first.
_MARKS: Final = ("ETag", "etag", "md5Hash", "content_md5", "LastModified", "last_modified",
                 "updated", "mtime", "modified", "created")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Seen:
    """A file as its folder lists it. changed: differs once the content does."""

    url: str
    size: int
    changed: str


@dataclass(frozen=True, slots=True)
class NotSeen:
    """A folder that could not be listed, and why, in one line."""

    url: str
    why: str


@dataclass(frozen=True, slots=True)
class Listing:
    """A place with all below it that could be listed. root: its url, with a slash at the end."""

    root: str
    files: tuple[Seen, ...]
    faults: tuple[NotSeen, ...]


def list_place(place: str) -> Listing:
    """Every scan file under a folder, given by its path or its URL. Links to folders are not
    followed: they may lead round in a circle. Raises nothing that a place can do wrong."""
    try:
        store, root = _store_and_root(place)
    except Exception as error:  # each store's own kinds, a missing library's among them
        return Listing(place, (), (NotSeen(place, reason(error)),))
    return _listed(store, root)


@contextmanager
def opened(url: str) -> Iterator[Watched]:
    """The bytes of a file that is not on this machine. Raises what its store raises."""
    store, path = store_of(url)
    with store.open(path, "rb", block_size=BLOCK_BYTES) as file:
        yield Watched(file)


def _store_and_root(place: str) -> tuple[Any, str]:
    """The file system and the folder in it. A path of this machine is never read as a URL."""
    path = local_path(place)
    # what is asked for may be a link; beneath it they are not followed
    return (
        store_of(place) if path is None else (LocalFileSystem(), str(path.expanduser().resolve()))
    )


def _listed(store: Any, root: str) -> Listing:
    faults: list[NotSeen] = []
    remote = not isinstance(store, LocalFileSystem)

    def url_of(path: str) -> str:
        return str(store.unstrip_protocol(path)) if remote else path

    whole = url_of(root).rstrip("/")
    try:
        store.invalidate_cache()
        if not remote and not Path(root).is_dir():
            why = "is no folder" if Path(root).exists() else "there is no such folder"
            return Listing(f"{whole}/", (), (NotSeen(whole, why),))
        found = _found(store, root) if remote else _walked(store, root, faults)
        files = tuple(sorted(_seen(found, url_of, faults), key=lambda one: one.url))
    except Exception as error:  # a network's, a store's, or one of rights
        return Listing(f"{whole}/", (), (NotSeen(whole, reason(error)),))
    return Listing(f"{whole}/", files, tuple(faults))


def _found(store: Any, root: str) -> dict[str, Mapping[str, Any]]:
    """A store lists all keys under one at once; folders are only names there."""
    # not asked whether it exists: a store that does not answer would say no
    try:
        store.info(root)
    except FileNotFoundError:
        raise FileNotFoundError("there is no such folder") from None
    found: dict[str, Mapping[str, Any]] = store.find(root, detail=True)
    return found


def _walked(
    store: LocalFileSystem, root: str, faults: list[NotSeen]
) -> dict[str, Mapping[str, Any]]:
    """Folder by folder: one that cannot be read is named and the rest goes on.

    Not by the library's own walk, which tells of the first folder's fault only.
    """
    found: dict[str, Mapping[str, Any]] = {}
    folders = [root]
    while folders:
        folder = folders.pop()
        try:
            there = store.ls(folder, detail=True)
        except OSError as error:
            faults.append(NotSeen(folder, reason(error)))
            continue
        folders += [str(about["name"]) for about in there if about["type"] == "directory"]
        found |= {str(about["name"]): _followed(store, about) for about in there}
    return found


def _followed(store: LocalFileSystem, about: Mapping[str, Any]) -> Mapping[str, Any]:
    """A link to a file counts as that file; one that leads nowhere as none."""
    if not about["islink"]:
        return about
    target = Path(about["name"])
    return {**store.info(target.resolve()), "name": about["name"]} if target.is_file() else about


def _seen(
    found: Mapping[str, Mapping[str, Any]], url_of: Any, faults: list[NotSeen]
) -> Iterator[Seen]:
    for path, about in found.items():
        if not path.endswith(ENDINGS) or about.get("type") != "file":
            continue
        try:
            path.encode()
        except UnicodeEncodeError:
            shown = path.encode("utf-8", "backslashreplace").decode()
            faults.append(NotSeen(shown, "the file's name is no text; rename it"))
            continue
        yield Seen(url_of(path), int(about.get("size") or 0), _mark(about))


def _mark(about: Mapping[str, Any]) -> str:
    name = next((name for name in _MARKS if about.get(name) is not None), None)
    if name is None:
        return "unmarked"
    value = about[name]
    return str(round(1e9 * value)) if isinstance(value, float) else str(value)
