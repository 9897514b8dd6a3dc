"""The few ways in which this room puts things into HDF5 and takes them out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from enum import StrEnum
from io import RawIOBase
from pathlib import Path
from typing import Any

import h5py
from numpy.typing import NDArray

from daq.errors import FileError

FORMAT = "neckform scan"
VERSION = 2
"""The newest that this program reads. A scan over one link is of version 1, over two of 2."""
PACKED: Mapping[str, Any] = {"compression": "gzip", "compression_opts": 1, "shuffle": True}
"""Counts shrink four- to fivefold so."""
CACHE_BYTES = 2**20
"""For each column: they are written and read from one end to the other."""
Group = Any


class FaultKind(StrEnum):
    """What a file that cannot be read as a scan is."""

    UNREADABLE = "unreadable"
    FOREIGN = "foreign"
    CUT_SHORT = "cut short"
    NEWER = "newer version"
    DAMAGED = "damaged"


class ScanFault(FileError):
    """Why a file is not read as a scan. what: the line without the file's name."""

    def __init__(self, where: object, kind: FaultKind, what: str) -> None:
        super().__init__(f"{where}: {what}")
        self.kind = kind
        self.what = what


def new_group(parent: Group, name: str, nx_class: str) -> Group:
    """A child group of this NeXus class."""
    group = parent.create_group(name)
    group.attrs["NX_class"] = nx_class
    return group


def put_column(group: Group, name: str, values: NDArray[Any], **attributes: str) -> None:
    """One compressed column."""
    packed = PACKED if values.size else {}
    dataset = group.create_dataset(name, data=values, **packed)
    dataset.attrs.update(attributes)


def put_texts(group: Group, name: str, values: list[str]) -> None:
    """A column of UTF-8 strings."""
    group.create_dataset(name, data=[_storable(v) for v in values], dtype=h5py.string_dtype())


def put_text(group: Group, name: str, value: str | None) -> None:
    """One UTF-8 string; nothing where there is none."""
    if value is not None:
        group.create_dataset(name, data=_storable(value))


def _storable(text: str) -> str:
    """NUL ends a string in HDF5; one that a rig or a file put in must not fail a recovery."""
    return text.replace("\0", "\N{REPLACEMENT CHARACTER}")


def get_text(group: Group, name: str) -> str | None:
    """A string written by `put_text`."""
    return str(group[name].asstr()[()]) if name in group else None


def required_text(group: Group, name: str) -> str:
    """The text that every file has. KeyError names what is missing."""
    text = get_text(group, name)
    if text is None:
        raise KeyError(f"{group.name}/{name} is missing")
    return text


@contextmanager
def reading(path: Path) -> Iterator[Group]:
    """The open scan file, for the block; what goes wrong in the block is laid to the file.

    ScanFault: not there, not readable, not HDF5, cut short, not a scan, of a newer version or
    damaged; each says which.
    """
    _check_start(path, _start_of(path))
    with _opened(path, path) as file:
        yield file


@contextmanager
def reading_bytes(named: str, source: RawIOBase) -> Iterator[Group]:
    """As `reading`, of a scan file that something else has opened: of a share, of a store."""
    try:
        start = source.read(len(_START))
        source.seek(0)
    except OSError as error:
        raise _unreadable(named, error) from error
    _check_start(named, start or b"")
    with _opened(named, source) as file:
        yield file


_DAMAGE = (OSError, RuntimeError, LookupError, ValueError, TypeError, AttributeError)
"""What the HDF5 library and the reading of unexpected content raise."""
_START = b"\x89HDF\r\n\x1a\n"


@contextmanager
def _opened(where: object, source: Path | RawIOBase) -> Iterator[Group]:
    try:
        file = h5py.File(source, "r", rdcc_nbytes=CACHE_BYTES)
    except _DAMAGE as error:
        raise _not_opened(where, str(error)) from error
    with file:
        try:
            _check_format(where, file)
            yield file
        except _DAMAGE as error:
            what = f"the scan file is damaged ({error}); take it from a backup"
            raise ScanFault(where, FaultKind.DAMAGED, what) from error


def _start_of(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(len(_START))
    except FileNotFoundError:
        raise ScanFault(path, FaultKind.UNREADABLE, "there is no such file") from None
    except OSError as error:
        raise _unreadable(path, error) from error


def _unreadable(where: object, error: OSError) -> ScanFault:
    return ScanFault(where, FaultKind.UNREADABLE, f"cannot be read: {error.strerror or error}")


def _check_start(where: object, start: bytes) -> None:
    if start != _START:
        found = "an empty file" if not start else "something else"
        raise ScanFault(where, FaultKind.FOREIGN, f"found {found}; a scan file is HDF5")


def _not_opened(where: object, reason: str) -> ScanFault:
    if "truncated" in reason or "eof" in reason.lower():
        what = "the scan file is cut short: its end is missing; copy it again"
        return ScanFault(where, FaultKind.CUT_SHORT, what)
    what = f"the scan file is damaged and does not open ({reason}); take it from a backup"
    return ScanFault(where, FaultKind.DAMAGED, what)


def _check_format(where: object, file: Group) -> None:
    about = file.get("entry/scan", {})
    if "format" not in about or get_text(about, "format") != FORMAT:
        raise ScanFault(where, FaultKind.FOREIGN, "is HDF5, but not a neckform scan")
    version = int(about["format_version"][()])
    if version > VERSION:
        raise ScanFault(
            where,
            FaultKind.NEWER,
            f"is a scan file of version {version}, and this program reads up to "
            f"{VERSION}; use a newer program",
        )
