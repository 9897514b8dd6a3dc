"""The few ways in which this room puts things into HDF5 and takes them out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
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


@contextmanager
def reading(path: Path) -> Iterator[Group]:
    """The open scan file, for the block; what goes wrong in the block is laid to the file.

    FileError: not there, not readable, not HDF5, cut short, not a scan, of a newer version or
    damaged; each says which.
    """
    _check_start(path)
    try:
        file = h5py.File(path, "r", rdcc_nbytes=CACHE_BYTES)
    except _DAMAGE as error:
        raise FileError(_why_not_opened(path, str(error))) from error
    with file:
        try:
            _check_format(path, file)
            yield file
        except _DAMAGE as error:
            raise FileError(
                f"{path}: the scan file is damaged ({error}); take it from a backup"
            ) from error


_DAMAGE = (OSError, RuntimeError, LookupError, ValueError, TypeError, AttributeError)
"""What the HDF5 library and the reading of unexpected content raise."""


def _check_start(path: Path) -> None:
    try:
        with path.open("rb") as file:
            start = file.read(8)
    except FileNotFoundError:
        raise FileError(f"{path}: there is no such file") from None
    except OSError as error:
        raise FileError(f"{path}: cannot be read: {error.strerror}") from error
    if start != b"\x89HDF\r\n\x1a\n":
        found = "an empty file" if not start else "something else"
        raise FileError(f"{path}: found {found}; a scan file is HDF5")


def _why_not_opened(path: Path, reason: str) -> str:
    if "truncated" in reason or "eof" in reason.lower():
        return f"{path}: the scan file is cut short: its end is missing; copy it again"
    return f"{path}: the scan file is damaged and does not open ({reason}); take it from a backup"


def _check_format(path: Path, file: Group) -> None:
    about = file.get("entry/scan", {})
    if "format" not in about or get_text(about, "format") != FORMAT:
        raise FileError(f"{path}: is HDF5, but not a neckform scan")
    version = int(about["format_version"][()])
    if version > VERSION:
        raise FileError(
            f"{path}: is a scan file of version {version}, and this program reads up to "
            f"{VERSION}; use a newer program"
        )
