"""What is known of a rig's own errors: documents kept side by side, never overwritten."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from pathlib import Path

from daq.errors import FileError
from daq.workshop.numbered import next_path
from daq.workshop.store import (
    atomic_write_text,
    json_document,
    json_text,
    locked,
    read_stored_text,
)

KINDS = ("rail", "lag", "sensor", "probe", "screw", "repeatability")


class CalibrationStore:
    """The calibrations of one rig: KIND-YYYYMMDDTHHMMSS.json (UTC), and the scans behind them."""

    def __init__(self, folder: Path, rig: str) -> None:
        self.folder = folder
        self.rig = rig

    def next_scan_path(self, kind: str) -> Path:
        """Where the scan for a calibration goes: scans/NNN-KIND.h5. Nothing is made."""
        return next_path(self.folder / "scans", kind, ".h5")

    def save(self, kind: str, document: Mapping[str, object]) -> Path:
        """Keep a document; one of the same second gets a number behind its time.

        The document says its own `kind`, `rig` and `made` (ISO 8601 with offset).
        Raises FileError for a document of another rig or kind, or without its time, or where it
        cannot be written.
        """
        made = self._checked(kind, document, self.folder / kind)
        stem = f"{kind}-{made.astimezone(UTC):%Y%m%dT%H%M%S}"
        with locked(self.folder / kind):
            path = self._free(stem)
            atomic_write_text(path, json_text(dict(document)))
        return path

    def documents(self, kind: str) -> list[Path]:
        """The documents of a kind, oldest first."""
        if not self.folder.is_dir():
            return []
        names = in_order(kind, (path.name for path in self.folder.iterdir()))
        return [self.folder / name for name in names]

    def latest(self, kind: str) -> tuple[str, dict[str, object]] | None:
        """The newest document of a kind, as its text and as data; None where there is none.

        Raises FileError where the newest is damaged or belongs to another rig or kind: an older
        one is not taken in its place without a word.
        """
        paths = self.documents(kind)
        if not paths:
            return None
        text = self._text(paths[-1])
        document = json_document(text, paths[-1])
        if not isinstance(document, dict):
            raise FileError(f"{paths[-1]}: found no group of keys; allowed a {kind} calibration")
        self._checked(kind, document, paths[-1])
        return text, document

    def _text(self, path: Path) -> str:
        return read_stored_text(path)

    def _free(self, stem: str) -> Path:
        path, number = self.folder / f"{stem}.json", 1
        while path.exists():
            number += 1
            path = self.folder / f"{stem}-{number}.json"
        return path

    def _checked(self, kind: str, document: Mapping[str, object], path: Path) -> datetime:
        if kind not in KINDS:
            raise FileError(f"{path}: found kind {kind!r}; allowed {' or '.join(KINDS)}")
        for key, wanted in (("kind", kind), ("rig", self.rig)):
            if document.get(key) != wanted:
                raise FileError(
                    f"{path}: {key}: found {document.get(key)!r}; allowed {wanted!r}; "
                    "this calibration belongs elsewhere"
                )
        return _time(document.get("made"), path)


def in_order(kind: str, names: Iterable[str]) -> list[str]:
    """Those of the names that are documents of a kind, oldest first."""
    order = re.compile(rf"{re.escape(kind)}-([0-9]{{8}}T[0-9]{{6}})(?:-([0-9]+))?\.json")
    found = [(order.fullmatch(name), name) for name in names]
    return [name for *_, name in sorted((m[1], int(m[2] or 1), name) for m, name in found if m)]


def _time(made: object, path: Path) -> datetime:
    try:
        when = datetime.fromisoformat(made if isinstance(made, str) else "")
    except ValueError:
        when = None
    if when is None or when.tzinfo is None:
        raise FileError(f"{path}: made: found {made!r}; allowed an ISO 8601 time with offset")
    return when
