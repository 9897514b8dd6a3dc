"""neckform report --sheet: the cut sheet, or one line on why there is none."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from html import unescape
from pathlib import Path
from typing import Any

import pytest

Type = Callable[..., Any]


@pytest.fixture
def planned(shop: Any, type_in: Type) -> Any:
    """A plan with one cut of 41 µm."""
    assert type_in(shop, "plan good --playing gentle --keep rod --keep nut --keep saddles").code < 2
    return _with(shop, feasible=True, cuts=[{"fret": 9, "string": 3, "remove_um": 41.0}])


def _with(shop: Any, **keys: object) -> Any:
    path = shop.job("good") / "plans" / "001.json"
    path.write_text(json.dumps({**json.loads(path.read_text()), **keys}))
    return shop


def test_the_sheet_is_written_beside_the_report(planned: Any, type_in: Type) -> None:
    done = type_in(planned, "report good --sheet --json")
    assert done.code == 0
    path = planned.job("good") / "sheet.html"
    assert json.loads(done.out) == {"job": "good", "sheet": str(path)}
    sheet = unescape(path.read_text(encoding="utf-8"))
    assert "Cut sheet: good" in sheet
    assert "<svg" not in sheet
    assert not (planned.job("good") / "report.html").exists()


@pytest.mark.parametrize("what", ["--sheet", ""])
def test_it_goes_where_it_is_asked_to_go(
    planned: Any, type_in: Type, tmp_path: Path, what: str
) -> None:
    to = tmp_path / "out" / "page.html"
    assert type_in(planned, f"report good {what} --to {to}").code == 0
    assert to.read_text(encoding="utf-8").startswith("<!doctype html>")
    assert not (planned.job("good") / "sheet.html").exists()
    assert not (planned.job("good") / "report.html").exists()


def test_without_a_plan_one_line_says_how_to_make_one(shop: Any, type_in: Type) -> None:
    done = type_in(shop, "report good --sheet")
    assert done.code == 2
    assert done.faults == [
        "neckform: job good: found no plan to make a cut sheet of; make one with: "
        "neckform plan good"
    ]


@pytest.mark.parametrize(
    ("keys", "why"),
    [
        ({"feasible": False, "cuts": []}, "no plan meets everything on this neck"),
        ({"cuts": []}, "takes no metal off, so there is no cut sheet"),
    ],
    ids=["infeasible", "nothing to cut"],
)
def test_where_nothing_is_to_be_filed_one_line_says_why(
    planned: Any, type_in: Type, keys: dict[str, object], why: str
) -> None:
    done = type_in(_with(planned, **keys), "report good --sheet")
    assert done.code == 2
    (line,) = done.faults
    assert why in line
    assert "neckform report good" in line
    assert not (planned.job("good") / "sheet.html").exists()


def test_a_scan_since_the_plan_warns_of_filing_twice(planned: Any, type_in: Type) -> None:
    shutil.copy(planned.scan("002-unstrung"), planned.scan("003-unstrung"))
    assert type_in(planned, "report good --sheet").code == 0
    sheet = unescape((planned.job("good") / "sheet.html").read_text(encoding="utf-8"))
    assert "Scanned since this plan was made: 003-unstrung.h5." in sheet


def test_once_it_is_verified_the_old_cuts_are_not_handed_out_again(
    planned: Any, type_in: Type
) -> None:
    shutil.copy(planned.scan("002-unstrung"), planned.scan("003-unstrung"))
    assert type_in(planned, "verify good").code < 2
    check = planned.job("good") / "checks" / "001.json"
    document = json.loads(check.read_text())
    left = [{"fret": 7, "string": 2, "left_um": 12.0, "u_left_um": 0.5, "aim_um": 11.0}]
    check.write_text(json.dumps({**document, "another_pass": True, "left": left}))
    assert type_in(planned, "report good --sheet").code == 0
    sheet = (planned.job("good") / "sheet.html").read_text(encoding="utf-8")
    assert "One more light pass" in sheet
    assert "Fret 7" in sheet
    assert "Fret 9" not in sheet
    check.write_text(json.dumps({**document, "another_pass": False, "left": []}))
    done = type_in(planned, "report good --sheet")
    assert done.code == 2
    assert "has been filed and verified" in done.faults[0]
