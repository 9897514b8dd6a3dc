"""`calibrate repeatability` on the simulated rig, and the budget that `tops` makes of it."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

from daq.demo.bench import Bench

Type = Callable[..., Any]
COMMAND = "calibrate repeatability --rig {rig} --instrument {instrument} --state unstrung"


@pytest.fixture
def person(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Somebody who does what they are told, and what that was."""
    asked: list[str] = []

    class Person:
        def __init__(self, *_: object) -> None:
            pass

        def __call__(self, what: str) -> None:
            asked.append(what)
            bench.do("place", what="neck")

    monkeypatch.setattr("daq.cli.desk._Asker", Person)
    return asked


def test_scans_clamped_anew(live: Any, bench: Bench, type_in: Type, person: list[str]) -> None:
    """The scatter is the rig's, the stated uncertainty covers it, and `tops` knows of it."""
    bench.do("state", state="unstrung")
    done = type_in(live, f"{COMMAND} --scans 2 --clampings 2 --json")
    assert done.code == 0, done.err
    answer = json.loads(done.out)
    assert len(person) == 1
    assert answer["strings"] == [1.0, 3.0, 6.0]
    assert answer["tops_compared"] >= 60
    assert 0.2 < answer["tops"]["s_r_um"]["s"] < 0.9
    assert answer["tops"]["s_l_um"]["s"] < 0.6
    assert answer["tops"]["stated_holds"]
    assert {term["name"] for term in answer["budget"]["top"]["terms"]} >= {"noise", "tip", "rail"}
    found = json.loads(type_in(live, "tops good --state unstrung --budget --json").out)
    top = found["budget"]["top"]
    assert top["u_um"] ** 2 == pytest.approx(sum(t["u_um"] ** 2 for t in top["terms"]), rel=1e-2)
    named = {term["name"]: term["u_um"] for term in top["terms"]}
    assert named.get("clamping", 0.0) == pytest.approx(answer["tops"]["s_l_um"]["s"], abs=1e-3)
    scan = answer["scans"][0][0]
    alone = type_in(live, f"tops {scan} --instrument {{instrument}} --budget --json")
    assert "clamping" not in str(json.loads(alone.out)["budget"])


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ("--scans 1", "--scans: found 1; allowed 2 to 50"),
        ("--clampings 1", "--clampings: found 1; allowed 2 to 50"),
        ("--lanes 1,6,x", "--lanes: found '1,6,x'; allowed strings between commas"),
        ("--lanes 1,3", "--lanes: found 1,3; allowed lanes of the unstrung state"),
        ("--state loose", "--state: found 'loose'"),
    ],
)
def test_what_is_refused(shop: Any, type_in: Type, more: str, says: str) -> None:
    done = type_in(shop, f"{COMMAND} {more}")
    assert done.code == 2
    assert says in done.faults[0]


def test_tops_have_no_budget_unasked(shop: Any, type_in: Type) -> None:
    assert "budget" not in json.loads(type_in(shop, "tops good --state unstrung --json").out)


def test_the_report_says_where_the_uncertainty_comes_from(shop: Any, type_in: Type) -> None:
    assert type_in(shop, "report good").code == 0
    page = (shop.job("good") / "report.html").read_text(encoding="utf-8")
    assert "here the uncertainty comes from" in page
    assert "movement between the states" in page
