"""The whole job over pseudo-terminals, as a person starts it, and its figures against the truth."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from ..finished import Told, finished_demo


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Told:
    """The demo in a terminal, its document into a pipe."""
    folder = finished_demo(tmp_path_factory)
    return Told(**json.loads((folder / "told.json").read_text("utf-8")))


@pytest.fixture(scope="module")
def document(told: Told) -> dict[str, Any]:
    return dict(json.loads(told.out))


def test_it_ends_well_with_one_document(told: Told) -> None:
    assert told.code == 0
    assert told.out.count("\n") == 1
    assert json.loads(told.out)["seed"] == 5
    assert "Traceback" not in told.terminal
    assert "neckform: " not in told.terminal


def test_every_command_was_typed(told: Told) -> None:
    typed = [
        line.split()[2]
        for line in told.terminal.splitlines()
        if line.startswith("\x1b[1m$ neckform ")
    ]
    assert typed == [
        "rig", "calibrate", "calibrate", "job", "scan", "scan", "tops", "compare", "plan", "scan",
        "verify", "scan", "verify", "report",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("figure", "least", "most"),
    [
        ("unstrung_tops_rms_um", 0.0, 2.5),
        ("strung_tops_rms_um", 0.0, 6.0),
        ("unstrung_relief_worst_um", 0.0, 4.0),
        ("strung_relief_worst_um", 0.0, 4.0),
        ("unstrung_within_twice_u_percent", 90.0, 100.0),
        ("strung_within_twice_u_percent", 90.0, 100.0),
        ("worst_true_margin_after_plan_um", 0.0, 1e4),
        ("worst_true_bend_after_plan_um", 0.0, 1e4),
        ("metal_share_of_levelling", 0.0, 0.5),
    ],
)
def test_a_figure(document: dict[str, Any], figure: str, least: float, most: float) -> None:
    assert least <= document["against_truth"][figure] <= most


def test_the_hand_is_known(document: dict[str, Any]) -> None:
    found = document["against_truth"]
    assert found["hand_gain_found"] == pytest.approx(found["hand_gain_true"], abs=0.03)


def test_the_plan_says_what_it_hangs_on(document: dict[str, Any]) -> None:
    """A clean scan leaves nothing in doubt but what a ball cannot reach."""
    plan = json.loads(
        (Path(document["folder"]) / "workshop/jobs/demo/plans/001.json").read_text("utf-8")
    )
    planned = plan["metal"]["planned_um_total"]
    assert plan["sensitivity"]["metal_um"] == pytest.approx(planned, rel=0.02, abs=2.0)
    assert plan["uncertainty_cost"]["metal_um"] == pytest.approx(planned, rel=0.02, abs=2.0)
    assert len(plan["life"]["frets"]) == 22
    assert {doubt["why"] for doubt in plan["doubts"]} <= {"dent"}


def test_the_plan_holds(document: dict[str, Any]) -> None:
    assert document["feasible"] is True
    assert document["metal"]["planned_um_total"] > 0


def test_the_workshop_is_left(document: dict[str, Any]) -> None:
    job = Path(document["folder"]) / "workshop/jobs/demo"
    page = (job / "report.html").read_text(encoding="utf-8")
    for title in ("Off the chord, strung", "Off the neighbours", "String 6", "Wear of the frets",
                  "Radius of each fret", "Turn of the section", "The cut plan"):  # fmt: skip
        assert f"<title>{title}" in page
    names = sorted(path.name for path in (job / "scans").iterdir())
    assert names == [
        "001-strung.h5", "002-unstrung.h5", "003-unstrung.h5", "004-strung.h5",
    ]  # fmt: skip
