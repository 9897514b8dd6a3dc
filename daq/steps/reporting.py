"""The job's report, from whatever the job holds by now, and the cut sheet of its plan."""

from __future__ import annotations

from pathlib import Path

from daq.errors import InputError
from daq.reading.reader import JobReader
from daq.report.page import report_html
from daq.report.sheet import sheet_html
from daq.steps.planning import read_plan
from daq.steps.report_input import reported
from daq.workshop.job import Job, shown
from daq.workshop.place import Workshop
from daq.workshop.store import atomic_write_text


def report_of(workshop: Workshop, job: Job) -> str:
    """The report: one HTML document. Raises InputError where the job holds no scan yet."""
    if not job.scans():
        raise InputError(
            f"job {job.name}: holds no scan to report; make one with: "
            f"neckform scan {shown(job.name)} --rig RIG.yaml --state strung"
        )
    return report_html(reported(JobReader(workshop, job)))


def sheet_of(workshop: Workshop, job: Job) -> str:
    """The cut sheet of the latest plan, or of what verifying it found left: one HTML document.

    Raises InputError where there is nothing to file.
    """
    path = job.latest_plan()
    name = shown(job.name)
    if path is None:
        raise InputError(
            f"job {job.name}: found no plan to make a cut sheet of; make one with: "
            f"neckform plan {name}"
        )
    document = read_plan(path)
    if not document.get("feasible", True):
        raise InputError(
            f"{path}: no plan meets everything on this neck, so nothing is to be filed; "
            f"neckform report {name} says what is in the way and what would cure it"
        )
    if not document["cuts"]:
        raise InputError(
            f"{path}: takes no metal off, so there is no cut sheet; neckform report {name} says "
            "how rod, nut and saddles are to be set"
        )
    given = reported(JobReader(workshop, job))
    if given.verified and not given.left:
        raise InputError(
            f"{path}: has been filed and verified, and nothing is left that is worth another "
            f"pass; neckform report {name} says what comes next"
        )
    return sheet_html(given)


def write_report(workshop: Workshop, job: Job, to: Path | None = None) -> Path:
    """Writes the report anew, into the job's folder if nowhere else. Raises as `report_of`."""
    path = job.report_path if to is None else to
    atomic_write_text(path, report_of(workshop, job))
    return path


def write_sheet(workshop: Workshop, job: Job, to: Path | None = None) -> Path:
    """Writes the cut sheet anew, into the job's folder if nowhere else. Raises as `sheet_of`."""
    path = job.sheet_path if to is None else to
    atomic_write_text(path, sheet_of(workshop, job))
    return path
