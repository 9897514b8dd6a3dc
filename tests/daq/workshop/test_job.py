"""A job's paths: numbers in order, states and labels in names."""

from __future__ import annotations

from pathlib import Path

import pytest

from daq.errors import InputError
from daq.workshop.job import Job


@pytest.fixture
def job(tmp_path: Path) -> Job:
    folder = tmp_path / "tenor"
    (folder / "scans").mkdir(parents=True)
    return Job(folder)


def make(*paths: Path) -> None:
    for path in paths:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.touch(exist_ok=False)


def test_scans_are_numbered_through_both_states(job: Job) -> None:
    for state in ("strung", "unstrung", "strung"):
        make(job.next_scan_path(state))

    assert [scan.path.name for scan in job.scans()] == [
        "001-strung.h5",
        "002-unstrung.h5",
        "003-strung.h5",
    ]
    assert [(scan.number, scan.state, scan.label) for scan in job.scans()][1] == (2, "unstrung", "")
    assert job.latest_scan("strung") == job.scans_folder / "003-strung.h5"
    assert job.latest_scan("unstrung") == job.scans_folder / "002-unstrung.h5"


@pytest.mark.parametrize(
    ("label", "name"),
    [
        (None, "001-strung.h5"),
        ("", "001-strung.h5"),
        ("before", "001-strung-before.h5"),
        ("After 1/4 turn!", "001-strung-after-1-4-turn.h5"),
        ("../../x.h5", "001-strung-x-h5.h5"),
        ("Größe", "001-strung-größe.h5"),
        ("///", "001-strung.h5"),
        ("a" * 100, f"001-strung-{'a' * 40}.h5"),
    ],
)
def test_a_label_becomes_part_of_the_name(job: Job, label: str | None, name: str) -> None:
    path = job.next_scan_path("strung", label)

    assert path == job.scans_folder / name
    make(path)
    assert job.latest_scan("strung") == path


def test_a_journals_number_is_taken(job: Job) -> None:
    make(job.next_scan_path("strung"))
    make(job.scans_folder / "002-unstrung.journal")

    assert job.next_scan_path("strung").name == "003-strung.h5"
    assert [scan.number for scan in job.scans()] == [1]


def test_a_gap_is_not_filled_and_a_thousand_is_no_end(job: Job) -> None:
    make(job.scans_folder / "007-strung.h5", job.scans_folder / "999-unstrung.h5")
    make(job.next_scan_path("strung"))

    assert job.scans()[-1].path.name == "1000-strung.h5"
    assert job.latest_scan("strung") == job.scans()[-1].path


def test_stray_files_are_no_scans(job: Job) -> None:
    make(
        job.scans_folder / "notes.h5",
        job.scans_folder / "12-strung.h5",
        job.scans_folder / "001-tuned.h5",
        job.scans_folder / ".001-strung.h5.tmp",
    )

    assert job.scans() == []
    assert job.latest_scan("strung") is None
    assert job.next_scan_path("strung").name == "002-strung.h5"


def test_an_unknown_state(job: Job) -> None:
    with pytest.raises(InputError, match="state: found 'loose'; allowed strung or unstrung"):
        job.next_scan_path("loose")


def test_a_scan_that_is_needed_and_not_there(job: Job) -> None:
    with pytest.raises(InputError) as caught:
        job.need_scan("unstrung")

    assert str(caught.value) == (
        "job tenor: found no unstrung scan; make one with: "
        "neckform scan tenor --rig RIG.yaml --state unstrung"
    )
    make(job.next_scan_path("unstrung"))
    assert job.need_scan("unstrung").name == "001-unstrung.h5"


def test_plans_and_checks(job: Job) -> None:
    assert (job.latest_plan(), job.latest_check()) == (None, None)

    make(job.next_plan_path(), job.next_check_path())
    make(job.next_plan_path())

    assert [path.name for path in job.plans()] == ["001.json", "002.json"]
    assert job.latest_plan() == job.folder / "plans" / "002.json"
    assert job.checks() == [job.folder / "checks" / "001.json"]
    assert job.latest_check() == job.folder / "checks" / "001.json"
    assert job.report_path == job.folder / "report.html"


def test_a_job_whose_instrument_was_taken_away(job: Job) -> None:
    with pytest.raises(InputError, match=r"instrument\.yaml: found no such file; allowed"):
        job.instrument()
