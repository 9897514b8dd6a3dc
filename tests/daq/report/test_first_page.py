"""The first page's statements are those of the plan and of its verification, number by number."""

from __future__ import annotations

import re
from dataclasses import replace
from html import unescape
from typing import Any

import pytest

from analysis.after.verify import Left
from analysis.instrument import Instrument
from daq.documents.plan import plan_document
from daq.report.page import report_html
from daq.report.record import ReportInput, ScanMade

from .decided_neck import decided, undecided


@pytest.fixture
def given(sized: Any) -> ReportInput:
    return decided(sized(6, 22))


@pytest.fixture
def planned(given: ReportInput) -> ReportInput:
    return replace(given, cuts=(), law=None, strung_end=None, verified=False)


def _first(given: ReportInput) -> str:
    return unescape(report_html(given).split('class="first"')[1].split("</section>")[0])


def _glance(given: ReportInput) -> dict[str, list[str]]:
    """A row's cells by the row's name."""
    body = _first(given).split("<tbody>")[1].split("</tbody>")[0]
    rows = [re.findall(r"<t[dh][^>]*>(.*?)</t[dh]>", row) for row in body.split("</tr>")[:-1]]
    return {row[0].split(",")[0]: row[1:] for row in rows}


def _plan(given: ReportInput) -> dict[str, Any]:
    assert given.plan is not None
    return plan_document(given.plan, given.instrument)


def _count(document: dict[str, Any], verdict: str, when: str) -> str:
    every = [*document[f"margins{when}"], *document[f"bends{when}"]]
    return str(sum(one["verdict"] == verdict for one in every))


@pytest.mark.parametrize(
    ("row", "verdict"), [("places that buzz", "buzzes"), ("places too near to call", "undecided")]
)
def test_places_are_those_of_the_plan(planned: ReportInput, row: str, verdict: str) -> None:
    document = _plan(planned)
    assert _count(document, verdict, "") != "0"
    assert _glance(planned)[row] == [_count(document, verdict, when) for when in ("_now", "")]


def test_metal_and_heights_are_those_of_the_plan(planned: ReportInput) -> None:
    document, glance = _plan(planned), _glance(planned)
    metal = document["metal"]["planned_um_total"]
    assert glance["metal off in all"] == ["0.00", f"{1e-3 * metal:.2f}"]
    said = re.search(r"<li>(\d+) µm of metal to come off", _first(planned))
    assert said is not None
    assert float(said[1]) == pytest.approx(metal, abs=0.5)
    after = [one["after_mm"] for one in document["action"]]
    assert glance["string height over fret 12"][1] == f"{min(after):.2f} to {max(after):.2f}"
    known = [cut["height_after_mm"] for cut in document["cuts"] if cut["height_after_mm"]]
    assert float(glance["lowest fret over the board"][1]) <= min(known) + 0.005


def test_what_came_off_is_what_was_verified(given: ReportInput) -> None:
    known = [cut for cut in given.cuts if cut.achieved_um == cut.achieved_um]
    assert len(known) == len(given.cuts) - 1
    off = sum(cut.achieved_um for cut in known)
    said = re.search(r"<li>(\d+) µm of metal came off .*?± (\d+) µm", _first(given))
    assert said is not None
    assert float(said[1]) == pytest.approx(off, abs=0.5)
    assert float(said[2]) == pytest.approx(2 * sum(c.u_achieved_um for c in known), abs=0.5)
    assert _glance(given)["metal off in all"][2] == f"{1e-3 * off:.2f}"


def test_the_end_is_the_measured_neck(given: ReportInput) -> None:
    glance = _glance(given)
    assert given.strung_end is not None
    assert glance["places that buzz"][2] == "0"
    measured = [one.measured_mm for one in given.strung_end.check.relief]
    assert glance["relief"][-1] == f"{min(measured):.2f} to {max(measured):.2f}"
    assert f"All {len(given.strung_end.margins)} places sound clear." in _first(given)


def test_new_string_heights_are_those_measured(given: ReportInput) -> None:
    assert given.strung_end is not None
    today: Instrument = replace(given.instrument, action_mm=(1.1, 1.2, 1.3, 1.4, 1.5, 1.9))
    new = replace(given.strung_end, heights="measured")
    glance = _glance(replace(given, strung_end=new, heights_now=today))
    assert glance["string height over fret 12"][2] == "1.10 to 1.90"


@pytest.mark.parametrize(
    ("stage", "words"),
    [
        ("planned", "Measured and planned; nothing was changed yet."),
        ("since", "Work goes on"),
        ("filed", "Filed and measured again, the strings still off; it can be strung up."),
        ("left", "one more light pass is to come"),
        ("ended", "something is left to do"),
        ("finished", "Done: filed, strung up again and measured."),
        ("infeasible", "nothing was changed, for no change would do all"),
    ],
)
def test_the_status_is_that_of_the_job(
    stage: str, words: str, given: ReportInput, planned: ReportInput, sized: Any
) -> None:
    made = {
        "planned": planned,
        "since": replace(planned, since=("003-unstrung.h5",)),
        "filed": replace(given, verified=True, strung_end=None),
        "left": replace(given, verified=True, strung_end=None, left=(Left(5, 2, 9.0, 1.0, 8.0),)),
        "ended": given,
        "finished": replace(given, finished=True),
        "infeasible": undecided(sized(6, 22)),
    }[stage]
    assert words in _first(made)


def test_nothing_to_cut_is_told_as_that(planned: ReportInput) -> None:
    assert planned.plan is not None
    still = replace(planned.plan, remove_mm=0.0 * planned.plan.remove_mm)
    first = _first(replace(planned, plan=still))
    assert "No metal comes off." in first
    assert "to come off" not in first


def test_days_are_said_once_where_they_are_one(planned: ReportInput) -> None:
    def scanned(*days: str) -> ReportInput:
        made = tuple(ScanMade("001-strung.h5", "strung", f"{day}T23:30:00+01:00") for day in days)
        return replace(planned, scans=made)

    assert "Measured 24 November 2025." in _first(scanned("2025-11-24", "2025-11-24"))
    assert "Measured 24 to 26 November 2025." in _first(scanned("2025-11-24", "2025-11-26"))
    assert "Measured 30 December 2025 to 2 January 2026." in _first(
        scanned("2026-01-02", "2025-12-30")
    )
    assert "Measured 29 November to 1 December 2025." in _first(scanned("2025-11-29", "2025-12-01"))


def test_screws_are_not_set_before_it_is_strung_up(given: ReportInput) -> None:
    assert given.plan is not None
    raised = replace(given, plan=replace(given.plan, saddle_mm=0.0 * given.plan.saddle_mm + 0.2))
    filed = replace(raised, verified=True, strung_end=None)
    assert "Saddles of strings 1 to 6 to be raised by 0.20 mm." in _first(filed)
    assert "of metal came off" in _first(filed)
    assert "Saddles of strings 1 to 6 raised by 0.20 mm, as planned." in _first(raised)
