"""The whole job over pseudo-terminals, as a person starts it, and its figures against the truth."""

from __future__ import annotations

import json
import os
import selectors
import subprocess
from pathlib import Path
from typing import Any

import pytest


@pytest.fixture(scope="module")
def told(program: list[str], tmp_path_factory: pytest.TempPathFactory) -> tuple[int, str, str]:
    """The demo in a terminal, its document into a pipe: exit code, standard output, terminal."""
    folder = tmp_path_factory.mktemp("demo") / "here"
    terminal, end = os.openpty()
    process = subprocess.Popen(
        [*program, "demo", "--folder", str(folder), "--seed", "5", "--json"],
        stdin=end,
        stdout=subprocess.PIPE,
        stderr=end,
        env={**os.environ, "TERM": "xterm", "COLUMNS": "80"},
    )
    os.close(end)
    with process:
        assert process.stdout is not None
        texts = read_both(terminal, process.stdout.fileno())
    os.close(terminal)
    return process.returncode, texts[1], texts[0]


def read_both(terminal: int, pipe: int) -> tuple[str, str]:
    """All that comes on both until both have ended."""
    heard = {terminal: b"", pipe: b""}
    with selectors.DefaultSelector() as waiting:
        for source in heard:
            waiting.register(source, selectors.EVENT_READ)
        while waiting.get_map():
            for key, _ in waiting.select():
                data = more(key.fd)
                heard[key.fd] += data
                if not data:
                    waiting.unregister(key.fd)
    return heard[terminal].decode(), heard[pipe].decode()


def more(source: int) -> bytes:
    """A terminal whose last user has gone raises where a pipe ends."""
    try:
        return os.read(source, 65_536)
    except OSError:
        return b""


@pytest.fixture(scope="module")
def document(told: tuple[int, str, str]) -> dict[str, Any]:
    return dict(json.loads(told[1]))


def test_it_ends_well_with_one_document(told: tuple[int, str, str]) -> None:
    code, out, terminal = told
    assert code == 0
    assert out.count("\n") == 1
    assert json.loads(out)["seed"] == 5
    assert "Traceback" not in terminal
    assert "neckform: " not in terminal


def test_every_command_was_typed(told: tuple[int, str, str]) -> None:
    typed = [
        line.split()[2] for line in told[2].splitlines() if line.startswith("\x1b[1m$ neckform ")
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
