"""Which scans of a job repeat one another: those of one state in a row."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from daq.errors import NeckformError
from daq.reading.settings import same_setting, turns_of
from daq.workshop.job import STATES, Job, ScanName
from daq.workshop.numbered import number_of
from daq.workshop.store import read_group

Run = tuple[ScanName, ...]


def runs_of(job: Job, last: int | None = None) -> tuple[Run, ...]:
    """Every scan of the job in order, those that may show one neck in one state together.

    A scan of the other state between two parts them: strings were taken off or put on, and a
    rod may have been turned. So do a rod said to stand elsewhere, a plan, and a check that found
    metal left: it may be gone since. last: number of the last scan that counts, for the job as
    it was then.
    """
    scans = [scan for scan in job.scans() if last is None or scan.number <= last]
    filed = filed_after(job)
    runs: list[Run] = []
    # of the run's scans that tell: one that cannot be read is of any setting
    setting: float | None = None
    for scan in scans:
        turns = turns_of(scan.path)
        turned = turns is not None and setting is not None and not same_setting(turns, setting)
        if runs and not turned and _repeats(runs[-1][-1], scan, filed):
            runs[-1] = (*runs[-1], scan)
            setting = turns if setting is None else setting
        else:
            runs.append((scan,))
            setting = turns
    return tuple(runs)


def run_to(runs: Sequence[Run], path: Path) -> Run:
    """The run that holds a scan, up to that scan; empty where none does."""
    for run in runs:
        for place, scan in enumerate(run, start=1):
            if scan.path == path:
                return run[:place]
    return ()


def _repeats(before: ScanName, scan: ScanName, filed: set[int] | None) -> bool:
    return before.state == scan.state and not may_be_filed(before.number, scan.number, filed)


def may_be_filed(one: int, other: int, filed: set[int] | None) -> bool:
    """Whether metal may have come off between two scans, by their numbers; by `filed_after`."""
    low, high = sorted((one, other))
    return filed is None or any(low <= number < high for number in filed)


def filed_after(job: Job) -> set[int] | None:
    """Numbers of scans after which somebody was told to take metal off.

    A plan rests on the newest scan of either state, a check on the one it judged. None where a
    document does not tell, and any two scans may be before and after it.
    """
    try:
        plans = {
            newest(read_group(path)["scans"][state] for state in STATES) for path in job.plans()
        }
        checks = [read_group(path) for path in job.checks()]
        return plans | {
            newest([check["scans"]["after"]])
            for check in checks
            if check.get("another_pass") or any(cut["verdict"] == "under" for cut in check["cuts"])
        }
    except (NeckformError, KeyError, TypeError, ValueError):
        return None


def newest(names: Iterable[str]) -> int:
    """Number of the newest of scans named as the job has them."""
    return max(number_of(Path(name)) or 0 for name in names)
