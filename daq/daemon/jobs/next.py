"""What a job wants done next, by what its folder holds; no scan is read for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from daq.daemon.jobs.answers import Next
from daq.errors import NeckformError
from daq.reading.runs import newest
from daq.steps.planning import read_plan
from daq.workshop.job import STATES, Job, ScanName
from daq.workshop.store import read_group


def next_of(job: Job) -> Next:
    """The next thing to do, and a sentence that says so."""
    scans = job.scans()
    missing = [state for state in STATES if job.latest_scan(state) is None]
    if missing:
        return _first_scan(missing[0], begun=bool(scans))
    path = job.latest_plan()
    if path is None:
        return Next(do="plan", words="Say how it is to play, and keep a plan.")
    try:
        plan = read_plan(path)
        rests_on = newest(plan["scans"].values())
    except (NeckformError, TypeError):
        words = f"Plan again: {path.name}, the latest plan, is damaged."
        return Next(do="plan", words=words)
    since = [scan for scan in scans if scan.number > rests_on]
    return _planned(plan, since, _check_of(job, path))


def _first_scan(state: str, *, begun: bool) -> Next:
    if state == "strung":
        return Next(do="scan strung", words="Scan the neck with its strings on, tuned to pitch.")
    said = "Take the strings off and scan the neck again." if begun else "Scan without strings."
    return Next(do="scan unstrung", words=said)


@dataclass(frozen=True, slots=True)
class _Since:
    """The newest scans since the plan. 0: none."""

    strung: int
    unstrung: int


def _planned(
    plan: Mapping[str, Any], scans: list[ScanName], check: Mapping[str, Any] | None
) -> Next:
    since = _Since(*(max((s.number for s in scans if s.state == one), default=0) for one in STATES))
    if not plan.get("feasible", True):
        words = "The latest plan cannot be carried out: ask for less, and keep another."
        return Next(do="plan", words=words)
    if check is not None:
        return _checked(check, since)
    if not plan["cuts"]:
        if since.strung:
            return _VERIFY
        return Next(do="string up", words="Nothing is to be filed: set rod, nut and saddles by the "
                    "sheet, then scan with the strings on.")  # fmt: skip
    if since.unstrung:
        return _VERIFY
    if since.strung:
        words = "Strings off once more: what came off is seen on the unstrung neck. Scan it."
        return Next(do="scan after", words=words)
    return Next(do="file", words="Set up and file by the sheet; then scan, strings still off.")


_VERIFY = Next(do="verify", words="See what came off, and how the neck stands now.")


def _checked(check: Mapping[str, Any], since: _Since) -> Next:
    """After a verification of this plan."""
    judged = _numbers(check)
    said = str(check.get("next", ""))
    if max(since.strung, since.unstrung) > max(judged.values(), default=0):
        if _beyond_metal(check) and since.strung > judged["after"]:
            return Next(do="plan", words="Plan again, by the scan with the strings on.")
        return _VERIFY
    strung = _group(check, "strung")
    if strung:
        done = bool(_group(strung, "standing").get("done"))
        return Next(do="report" if done else "plan", words=said)
    if check.get("another_pass"):
        return Next(do="file", words=said)
    return Next(do="string up", words=said)


def _beyond_metal(check: Mapping[str, Any]) -> bool:
    """No more is to be taken off, and that is not enough."""
    standing = _group(check, "standing")
    if not standing or check.get("strung") is not None:
        return False
    return not standing.get("done") and not standing.get("metal_can")


def _group(document: Mapping[str, Any], key: str) -> Mapping[str, Any]:
    """Empty where there is none."""
    found = document.get(key)
    return found if isinstance(found, Mapping) else {}


def _numbers(check: Mapping[str, Any]) -> dict[str, int]:
    """Of the scans that it judged, 0 where there was none."""
    named = _group(check, "scans")
    return {
        when: newest([named[when]]) if isinstance(named.get(when), str) else 0
        for when in ("before", "after", "strung")
    }


def _check_of(job: Job, plan: Path) -> Mapping[str, Any] | None:
    """The latest verification, if it is of this plan and whole."""
    path = job.latest_check()
    if path is None:
        return None
    try:
        check = read_group(path)
    except NeckformError:
        return None
    return check if check.get("plan") == plan.name else None
