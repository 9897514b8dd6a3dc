"""A calibration's document and where it was found: in a scan file or in the workshop."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, TypeVar

from daq.errors import FileError
from daq.record.scan import Scan
from daq.workshop.calibrations import CalibrationStore

Document = Mapping[str, Any]
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Found:
    """A calibration and where it was found, for messages."""

    document: Document
    where: str

    @property
    def made(self) -> datetime:
        """Raises FileError where the document does not say."""
        made = self.document.get("made")
        try:
            return datetime.fromisoformat(str(made)).astimezone()
        except ValueError as error:
            raise self.damaged(f"made: found {made!r}") from error

    def damaged(self, why: str) -> FileError:
        return FileError(f"{self.where}: {why}; it is damaged: put back a copy, or calibrate again")


def newest(kind: str, scan: Scan, store: CalibrationStore | None) -> Found | None:
    """The one recorded with the scan or kept in the workshop, whichever was made last."""
    found = [one for one in (_recorded(kind, scan), _stored(kind, store)) if one is not None]
    # of two made in the same second the recorded one, which comes first, is taken
    return max(found, key=lambda one: one.made, default=None)


def _recorded(kind: str, scan: Scan) -> Found | None:
    text = scan.calibration_texts.get(kind)
    if text is None:
        return None
    where = f"{scan.path}: {kind} calibration inside"
    try:
        document = json.loads(text)
    except ValueError as error:
        raise FileError(f"{where}: found no JSON ({error}); the file is damaged") from error
    if not isinstance(document, dict):
        raise FileError(f"{where}: found no group of keys; the file is damaged")
    return Found(document, where)


def _stored(kind: str, store: CalibrationStore | None) -> Found | None:
    latest = store.latest(kind) if store is not None else None
    if store is None or latest is None:
        return None
    return Found(latest[1], str(store.documents(kind)[-1]))


def built(build: Callable[[Document], T], found: Found | None) -> T | None:
    """What a document describes. Raises FileError where keys are missing or make no sense."""
    if found is None:
        return None
    try:
        return build(found.document)
    except KeyError as error:
        raise found.damaged(f"found no key {error}") from error
    except (TypeError, ValueError) as error:
        raise found.damaged(f"found what is no calibration ({error})") from error
