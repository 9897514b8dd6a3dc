"""Which scans of a job repeat one another: those of one state in a row."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from daq.errors import NeckformError
from daq.workshop.job import STATES, Job, ScanName
from daq.workshop.numbered import number_of
from daq.workshop.store import read_group

Run = tuple[ScanName, ...]


def runs_of(job: Job, last: int | None = None) -> tuple[Run, ...]:
    """Every scan of the job in order, those that may show one neck in one state together.

    A scan of the other state between two parts them: strings were taken off or put on, and a
    rod may have been turned. So does a plan, and a check that found metal left: it may be gone
    since. last: number of the last scan that counts, for the job as it was then.
    """
    scans = [scan for scan in job.scans() if last is None or scan.number <= last]
    filed = _filed_after(job)
    runs: list[Run] = []
    for scan in scans:
        if runs and _repeats(runs[-1][-1], scan, filed):
            runs[-1] = (*runs[-1], scan)
        else:
            runs.append((scan,))
    return tuple(runs)


def run_to(runs: Sequence[Run], path: Path) -> Run:
    """The run that holds a scan, up to that scan; empty where none does."""
    for run in runs:
        for place, scan in enumerate(run, start=1):
            if scan.path == path:
                return run[:place]
    return ()


def _repeats(before: ScanName, scan: ScanName, filed: set[int] | None) -> bool:
    if filed is None or before.state != scan.state:
        return False
    return not any(before.number <= number < scan.number for number in filed)


def _filed_after(job: Job) -> set[int] | None:
    """Numbers of scans after which somebody was told to take metal off.

    A plan rests on the newest scan of either state, a check on the one it judged. None where a
    document does not tell, and any two scans may be before and after it.
    """
    try:
        plans = {
            _newest(read_group(path)["scans"][state] for state in STATES) for path in job.plans()
        }
        checks = [read_group(path) for path in job.checks()]
        return plans | {
            _newest([check["scans"]["after"]])
            for check in checks
            if any(cut["verdict"] == "under" for cut in check["cuts"])
        }
    except (NeckformError, KeyError, TypeError, ValueError):
        return None


def _newest(names: Iterable[str]) -> int:
    return max(number_of(Path(name)) or 0 for name in names)
