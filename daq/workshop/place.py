"""The workshop: where jobs, calibrations and the learnt laws lie."""

from __future__ import annotations

import secrets
import shutil
from collections.abc import Mapping
from pathlib import Path

import platformdirs

from daq.errors import FileError, InputError
from daq.files.instrument import InstrumentFile
from daq.files.names import ALLOWED_NAME, is_folder_name
from daq.workshop.calibrations import CalibrationStore
from daq.workshop.job import Job, shown
from daq.workshop.laws import LawBook
from daq.workshop.store import atomic_write_text, reason, sync_folder

WORKSHOP_VARIABLE = "NECKFORM_WORKSHOP"
MOST_NAMED = 8


def workshop_folder(given: Path | None, environment: Mapping[str, str]) -> Path:
    """The folder asked for, else the environment's, else the user's data folder."""
    if given is not None:
        return given
    named = environment.get(WORKSHOP_VARIABLE)
    return Path(named) if named else platformdirs.user_data_path("neckform", appauthor=False)


class Workshop:
    """The folder of everything. Folders are made when something is first put in them."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.jobs_folder = root / "jobs"

    @property
    def laws(self) -> LawBook:
        """What earlier cuts have taught."""
        return LawBook(self.root / "laws.json")

    def calibrations(self, rig: str) -> CalibrationStore:
        """The calibrations of a rig, by the name in its file. Raises InputError."""
        _check_name(rig, "rig name")
        return CalibrationStore(self.root / "calibrations" / rig, rig)

    def jobs(self) -> list[Job]:
        """Every job, by name. Raises FileError."""
        if not self.jobs_folder.is_dir():
            return []
        try:
            folders = [path for path in self.jobs_folder.iterdir() if path.is_dir()]
        except OSError as error:
            raise FileError(f"{self.jobs_folder}: could not be read ({reason(error)})") from error
        return [Job(path) for path in sorted(folders) if is_folder_name(path.name)]

    def job(self, name: str) -> Job:
        """An open job. Raises InputError that names the jobs there are and how to open one."""
        _check_name(name, "job name")
        folder = self.jobs_folder / name
        if not folder.is_dir():
            raise InputError(self._no_job(name))
        return Job(folder)

    def new_job(self, name: str, instrument: InstrumentFile) -> Job:
        """Open a job with its own copy of the instrument file.

        Raises InputError for a name that is no name or is taken, FileError where the folder
        cannot be made.
        """
        _check_name(name, "job name")
        folder = self.jobs_folder / name
        if folder.exists():
            raise InputError(f"job {name}: found a job of that name already; allowed a new name")
        self._make(folder, instrument.text)
        return Job(folder)

    def _make(self, folder: Path, instrument_text: str) -> None:
        # made whole beside and then renamed: a job without an instrument never exists
        beside = folder.with_name(f".{folder.name}.{secrets.token_hex(4)}.tmp")
        try:
            atomic_write_text(Job(beside).instrument_path, instrument_text)
            beside.rename(folder)
            sync_folder(folder.parent)
        except OSError as error:
            raise FileError(f"{folder}: could not be made ({reason(error)})") from error
        finally:
            shutil.rmtree(beside, ignore_errors=True)

    def _no_job(self, name: str) -> str:
        names = [job.name for job in self.jobs()]
        there = ", ".join(names[:MOST_NAMED]) + (", …" if len(names) > MOST_NAMED else "")
        command = f"neckform job new {shown(name)} --instrument FILE.yaml"
        listed = f"the jobs there are: {there}" if names else "there are no jobs yet"
        return f"job {name}: found no such job in {self.root}; {listed}; open one with: {command}"


def _check_name(name: str, what: str) -> None:
    if not is_folder_name(name):
        raise InputError(f"{what}: found {name[:80]!r}; allowed {ALLOWED_NAME}")
