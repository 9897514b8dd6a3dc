"""A plan with a target, typed: what is held back, set and asked for is so in what comes out."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

Type = Callable[..., Any]
TARGET = """\
playing: everyday
hold: {frets: [20], places: [[12, 6]]}
shape: {frets: [3, 12], off_mm: [-0.005, -0.005]}
"""


@pytest.fixture
def planned(shop: Any, type_in: Type) -> Any:
    (shop.folder / "target.yaml").write_text(TARGET, encoding="utf-8")
    return type_in(shop, "plan good --target {folder}/target.yaml --json")


def test_the_plan_is_as_asked(shop: Any, type_in: Type, planned: Any) -> None:
    plan = json.loads(planned.out)
    assert plan["feasible"]
    assert plan["target"]["hold"] == {"frets": [20], "strings": [], "places": [[12, 6]]}
    cuts = {(cut["fret"], cut["string"]): cut["remove_um"] for cut in plan["cuts"]}
    assert not [place for place in cuts if place[0] == 20 or place == (12, 6)]
    # both anchors come down by 5 um and no less, where they are not held back
    assert all(cuts[3, string] >= 4.9 for string in range(1, 7))
    assert all(cuts[12, string] >= 4.9 for string in range(1, 6))
    assert plan["shape_short"] == [{"fret": 12, "string": 6, "short_um": 5.0}]
    words = " ".join(planned.err.split())
    assert "Held back, not to be cut: fret 20 and fret 12 under string 6." in words
    assert "The asked-for shape is out of reach at fret 12: at the worst" in words


def test_screws_kept_and_set(shop: Any, type_in: Type) -> None:
    (shop.folder / "target.yaml").write_text("rod: 0.125\nnut: keep\n", encoding="utf-8")
    done = type_in(shop, "plan good --target {folder}/target.yaml --json")
    plan = json.loads(done.out)
    assert plan["kept"] == ["nut"]
    assert all(one["change_mm"] == 0.0 for one in plan["nut"])
    assert plan["rod"]["turns"] == pytest.approx(0.125 if plan["feasible"] else 0.0)
    words = " ".join(done.err.split())
    assert "Left as it is: the nut. Asked: the rod tightened by 0.12 of a turn." in words


def test_its_own_target_plans_the_same_again(shop: Any, type_in: Type, planned: Any) -> None:
    first = json.loads(planned.out)
    again = shop.folder / "again.json"
    again.write_text(json.dumps(first["target"]), encoding="utf-8")
    second = json.loads(type_in(shop, "plan good --target {folder}/again.json --json").out)
    for key in ("target", "cuts", "rod", "saddles", "nut", "metal", "margins"):
        assert second[key] == first[key], key


def test_the_report_of_it_is_of_the_stored_plan(shop: Any, type_in: Type, planned: Any) -> None:
    assert type_in(shop, "report good").faults == []
    report = (shop.job("good") / "report.html").read_text(encoding="utf-8")
    assert "Held back, not to be cut: fret 20 and fret 12 under string 6." in report
    # what was stored is what is shown: made again from its target it came out the same
    assert "not come out as it was stored" not in report


def test_a_file_beside_what_it_says_itself(shop: Any, type_in: Type) -> None:
    (shop.folder / "target.yaml").write_text(TARGET, encoding="utf-8")
    done = type_in(shop, "plan good --target {folder}/target.yaml --keep rod")
    assert done.code == 2
    assert "found --playing or --keep beside it; allowed the file alone" in done.err


def test_faults_of_a_file_are_told_with_their_lines(shop: Any, type_in: Type) -> None:
    (shop.folder / "target.yaml").write_text("rod: 9\nhold: {frets: [99]}\n", encoding="utf-8")
    done = type_in(shop, "plan good --target {folder}/target.yaml")
    assert done.code == 2
    assert "target.yaml:1: rod: found 9" in done.err
    assert "target.yaml:2: hold.frets[1]: found 99" in done.err
    assert not (shop.job("good") / "plans").exists()
