"""What a scan is read with: its job's instrument file and the newest calibrations of its rig."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

from daq.archive.method import method
from daq.archive.urls import folder_of, name_of, names_in, text_of
from daq.errors import FileError
from daq.files.names import is_folder_name
from daq.reading.calibrated import APPLIED
from daq.workshop.calibrations import CalibrationStore, in_order


@dataclass(frozen=True, slots=True)
class Stored:
    """A text of the workshop's and where it lies."""

    where: str
    text: str


@dataclass(frozen=True, slots=True)
class Beside:
    """instrument: None for what is recorded in the scan itself. calibrations: by kind, the newest
    of the workshop; those recorded in the scan stand beside them. fault: why the workshop's files
    cannot be had, one line."""

    rig: str | None = None
    instrument: Stored | None = None
    calibrations: Mapping[str, Stored] = field(default_factory=dict)
    fault: str | None = None

    @property
    def way(self) -> str:
        """Short hash of the program's method and all that stands here."""
        digest = hashlib.sha256(method().encode())
        texts = {kind: one.text for kind, one in self.calibrations.items()}
        texts["instrument"] = "" if self.instrument is None else self.instrument.text
        for kind in sorted(texts):
            digest.update(f"\0{kind}\0{texts[kind]}".encode())
        return digest.hexdigest()[:12]


class CarriedStore(CalibrationStore):
    """Calibrations of a rig as they were when the work was given out, wherever it is done."""

    def __init__(self, rig: str, kept: Mapping[str, Stored]) -> None:
        folder = folder_of(next(iter(kept.values())).where) if kept else ""
        super().__init__(Path(folder), rig)
        self._kept = {kind: (Path(one.where), one.text) for kind, one in kept.items()}

    def documents(self, kind: str) -> list[Path]:
        """The newest of a kind alone."""
        return [self._kept[kind][0]] if kind in self._kept else []

    def _text(self, path: Path) -> str:
        return next(text for where, text in self._kept.values() if where == path)


class Workshops:
    """Looks up what lies beside scans, each file once; few jobs are remembered."""

    def __init__(self) -> None:
        self._instrument = lru_cache(64)(_instrument)
        self._calibrations = lru_cache(64)(_calibrations)
        self._beside = lru_cache(64)(self._found)

    def beside(self, url: str, rig: str | None) -> Beside:
        """Of the scan at WORKSHOP/jobs/JOB/scans/NAME; one that lies elsewhere has only itself."""
        jobs = folder_of(url, 3)
        if name_of(folder_of(url)) != "scans" or name_of(jobs) != "jobs":
            return Beside(rig)
        return self._beside(folder_of(url, 2), folder_of(jobs), rig)

    def _found(self, job: str, root: str, rig: str | None) -> Beside:
        try:
            kept = self._calibrations(root, rig) if rig and is_folder_name(rig) else {}
            return Beside(rig, self._instrument(job), kept)
        except FileError as error:
            return Beside(rig, fault=str(error))


def _instrument(job: str) -> Stored | None:
    if "instrument.yaml" not in names_in(job):
        return None
    return Stored(f"{job}/instrument.yaml", text_of(f"{job}/instrument.yaml"))


def _calibrations(root: str, rig: str) -> Mapping[str, Stored]:
    folder = f"{root}/calibrations/{rig}"
    names = names_in(folder)
    newest = {kind: in_order(kind, names)[-1:] for kind in APPLIED}
    return {
        kind: Stored(f"{folder}/{name}", text_of(f"{folder}/{name}"))
        for kind, found in newest.items()
        for name in found
    }
