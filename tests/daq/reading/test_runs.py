"""Which scans of a job repeat one another."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from daq.reading.runs import run_to, runs_of
from daq.workshop.job import Job


@pytest.fixture
def job(tmp_path: Path) -> Job:
    for name in ("scans", "plans", "checks"):
        (tmp_path / "tenor" / name).mkdir(parents=True)
    return Job(tmp_path / "tenor")


def scan(job: Job, *states: str) -> None:
    for state in states:
        job.next_scan_path(state).touch()


def plan(job: Job) -> None:
    """A plan rests on the newest scan of both states."""
    newest = {state: path.name for state in ("strung", "unstrung")
              if (path := job.latest_scan(state)) is not None}  # fmt: skip
    job.next_plan_path().write_text(json.dumps({"scans": newest}))


def check(job: Job, verdict: str) -> None:
    after = job.need_scan("unstrung").name
    job.next_check_path().write_text(
        json.dumps({"scans": {"before": "x", "after": after}, "cuts": [{"verdict": verdict}]})
    )


def numbers(job: Job, last: int | None = None) -> list[list[int]]:
    return [[one.number for one in run] for run in runs_of(job, last)]


def test_scans_of_one_state_in_a_row_are_a_run(job: Job) -> None:
    scan(job, "strung", "strung", "unstrung", "unstrung", "unstrung")
    assert numbers(job) == [[1, 2], [3, 4, 5]]


def test_the_other_state_between_parts_them(job: Job) -> None:
    scan(job, "unstrung", "strung", "unstrung", "unstrung", "strung")
    assert numbers(job) == [[1], [2], [3, 4], [5]]


def test_a_plan_parts_them(job: Job) -> None:
    scan(job, "strung", "unstrung", "unstrung")
    plan(job)
    scan(job, "unstrung", "unstrung")
    assert numbers(job) == [[1], [2, 3], [4, 5]]


def test_a_plan_after_a_strung_scan_parts_strung_ones(job: Job) -> None:
    scan(job, "unstrung", "strung")
    plan(job)
    scan(job, "strung", "strung")
    plan(job)
    assert numbers(job) == [[1], [2], [3, 4]]


@pytest.mark.parametrize(
    ("verdict", "runs"),
    [("under", [[1], [2], [3], [4]]), ("within", [[1], [2], [3, 4]]),
     ("undecided", [[1], [2], [3, 4]])],
)  # fmt: skip
def test_a_check_that_found_metal_left_parts_them(
    job: Job, verdict: str, runs: list[list[int]]
) -> None:
    scan(job, "strung", "unstrung")
    plan(job)
    scan(job, "unstrung")
    check(job, verdict)
    scan(job, "unstrung")
    assert numbers(job) == runs


@pytest.mark.parametrize("text", ["{}", "[]", "rubbish", '{"scans": {"strung": "1"}}'])
def test_where_a_plan_does_not_tell_every_scan_stands_alone(job: Job, text: str) -> None:
    scan(job, "strung", "unstrung", "unstrung")
    job.next_plan_path().write_text(text)
    assert numbers(job) == [[1], [2], [3]]


def test_the_job_as_it_was(job: Job) -> None:
    """A plan is made again from its own scans, whatever has come since."""
    scan(job, "strung", "unstrung", "unstrung")
    plan(job)
    scan(job, "unstrung")
    assert numbers(job, last=2) == [[1], [2]]
    assert numbers(job, last=3) == [[1], [2, 3]]


def test_a_run_ends_with_the_scan_asked_for(job: Job) -> None:
    scan(job, "unstrung", "unstrung", "unstrung")
    runs, second = runs_of(job), job.scans()[1].path
    assert [one.number for one in run_to(runs, second)] == [1, 2]
    assert run_to(runs, job.scans_folder / "009-unstrung.h5") == ()
