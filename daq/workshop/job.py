"""A job: one instrument on the bench, a folder a person can open, copy and back up."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from daq.errors import InputError
from daq.files.instrument import InstrumentFile, parse_instrument
from daq.files.read import read_text
from daq.workshop.numbered import next_path, number_of, numbered_files, slug, tail_of

STATES = ("strung", "unstrung")


@dataclass(frozen=True, slots=True)
class ScanName:
    """What a scan file's name says. label: a slug, empty where none was given."""

    path: Path
    number: int
    state: str
    label: str


@dataclass(frozen=True, slots=True)
class Job:
    """The paths of a job's folder; everything is read afresh, nothing is remembered.

    A number is given when a path is asked for and taken when its file is made: who makes the
    file opens it exclusively ("x").
    """

    folder: Path

    @property
    def name(self) -> str:
        """The job's name, which is its folder's."""
        return self.folder.name

    @property
    def instrument_path(self) -> Path:
        """The job's own copy of the instrument file."""
        return self.folder / "instrument.yaml"

    @property
    def report_path(self) -> Path:
        """Where the report goes."""
        return self.folder / "report.html"

    @property
    def sheet_path(self) -> Path:
        """Where the cut sheet goes."""
        return self.folder / "sheet.html"

    @property
    def scans_folder(self) -> Path:
        """Where scans and their journals lie."""
        return self.folder / "scans"

    def instrument_text(self) -> str:
        """The instrument file's text. Raises InputError."""
        return read_text(self.instrument_path, "instrument file")

    def instrument(self) -> InstrumentFile:
        """The checked instrument file. Raises InputError with one line for every fault."""
        return parse_instrument(self.instrument_text(), str(self.instrument_path))

    def next_scan_path(self, state: str, label: str | None = None) -> Path:
        """Where the next scan goes: scans/NNN-state[-label].h5. Raises InputError."""
        if state not in STATES:
            raise InputError(f"state: found {state!r}; allowed {' or '.join(STATES)}")
        tail = "-".join(part for part in (state, slug(label or "")) if part)
        return next_path(self.scans_folder, tail, ".h5")

    def scans(self) -> list[ScanName]:
        """Every scan of the job, in order."""
        named = (_scan_name(path) for path in numbered_files(self.scans_folder, ".h5"))
        return [scan for scan in named if scan is not None]

    def latest_scan(self, state: str) -> Path | None:
        """The newest scan of a state, None where there is none."""
        of_state = [scan.path for scan in self.scans() if scan.state == state]
        return of_state[-1] if of_state else None

    def need_scan(self, state: str) -> Path:
        """The newest scan of a state. Raises InputError that says how to make one."""
        path = self.latest_scan(state)
        if path is None:
            raise InputError(
                f"job {self.name}: found no {state} scan; make one with: "
                f"neckform scan {shown(self.name)} --rig RIG.yaml --state {state}"
            )
        return path

    def next_plan_path(self) -> Path:
        """Where the next plan goes: plans/NNN.json."""
        return next_path(self.folder / "plans", "", ".json")

    def plans(self) -> list[Path]:
        """Every plan, in order."""
        return numbered_files(self.folder / "plans", ".json")

    def latest_plan(self) -> Path | None:
        """The newest plan, None where there is none."""
        return next(reversed(self.plans()), None)

    def next_check_path(self) -> Path:
        """Where the next result of `verify` goes: checks/NNN.json."""
        return next_path(self.folder / "checks", "", ".json")

    def checks(self) -> list[Path]:
        """Every result of `verify`, in order."""
        return numbered_files(self.folder / "checks", ".json")

    def latest_check(self) -> Path | None:
        """The newest result of `verify`, None where there is none."""
        return next(reversed(self.checks()), None)


def shown(name: str) -> str:
    """A name as it is typed in a command."""
    return f'"{name}"' if " " in name else name


def _scan_name(path: Path) -> ScanName | None:
    state, _, label = tail_of(path).partition("-")
    number = number_of(path)
    if number is None or state not in STATES:
        return None
    return ScanName(path, number, state, label)
