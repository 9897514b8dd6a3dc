"""verify, once the neck was scanned again: nothing came off, the neck as it was, strung again."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from typing import Any

import pytest

Type = Callable[..., Any]
KEEP = "plan good --playing gentle --keep rod --keep nut --keep saddles"
CUTS = [
    {"fret": 5, "string": 2, "remove_um": 20.0},
    {"fret": 9, "string": 3, "remove_um": 35.0},
    {"fret": 9, "string": 4, "remove_um": 31.0},
]


def plan(shop: Any, type_in: Type, cuts: list[dict[str, Any]]) -> None:
    """A plan of the job, with these cuts in place of its own."""
    assert type_in(shop, KEEP).code in (0, 1)
    path = shop.job("good") / "plans" / "001.json"
    path.write_text(json.dumps({**json.loads(path.read_text()), "cuts": cuts}))


def verify(shop: Any, type_in: Type) -> tuple[int, dict[str, Any]]:
    done = type_in(shop, "verify good --json")
    return done.code, json.loads(done.out)


@pytest.fixture
def uncut(shop: Any, type_in: Type) -> Any:
    """The same unstrung scan again after a plan: not a stroke was done."""
    plan(shop, type_in, CUTS)
    shutil.copy(shop.scan("002-unstrung"), shop.scan("003-unstrung"))
    return shop


def test_not_a_stroke_was_done(uncut: Any, type_in: Type) -> None:
    _, document = verify(uncut, type_in)
    assert {cut["verdict"] for cut in document["cuts"]} == {"under"}
    assert all(abs(cut["achieved_um"]) < 0.1 for cut in document["cuts"])
    assert all(cut["u_left_um"] > 0 for cut in document["cuts"])
    assert document["strung"] is None
    assert "no strung scan" in document["strung_status"]
    assert document["law"]["gain"] < 0.3
    assert document["law"]["cuts"] == 3


def test_the_same_scan_teaches_once(uncut: Any, type_in: Type) -> None:
    verify(uncut, type_in)
    verify(uncut, type_in)
    told = type_in(uncut, "law --json")
    (law,) = json.loads(told.out)["laws"]
    assert (law["tool"], law["cuts"], law["sessions"]) == ("file", 3, 1)
    assert "file on nickel silver" in type_in(uncut, "law").out.replace("\n", " ")
    assert type_in(uncut, "law --tool beam").code == 2


def test_the_next_plan_says_what_its_aims_go_by(uncut: Any, type_in: Type) -> None:
    verify(uncut, type_in)
    steel = json.loads(type_in(uncut, KEEP + " --metal steel --json").out)["aims_by"]
    assert steel["law"] is None
    assert steel["nearest"]["metal"] == "nickel silver"
    own = json.loads(type_in(uncut, KEEP + " --json").out)["aims_by"]
    assert own["law"]["cuts"] == 3
    assert own["nearest"] is None


def test_strung_again_as_it_was(shop: Any, type_in: Type) -> None:
    """Nothing was turned, nothing cut: the strung neck is as predicted, to the last digit."""
    plan(shop, type_in, [])
    shutil.copy(shop.scan("001-strung"), shop.scan("003-strung"))
    code, document = verify(shop, type_in)
    end = document["strung"]
    assert {one["verdict"] for one in end["relief"]} == {"as predicted"}
    assert all(abs(one["off_mm"]) < 2e-4 for one in end["relief"])
    assert {top["status"] for top in end["tops"]} == {"ok"}
    assert end["rod"]["gain"] is None
    assert end["heights"] == "planned"
    assert code == (0 if end["finished"] else 1)
    assert (document["cuts"], document["law"]) == ([], None)


def test_new_string_heights_are_taken(shop: Any, type_in: Type) -> None:
    plan(shop, type_in, [])
    shutil.copy(shop.scan("001-strung"), shop.scan("003-strung"))
    path = shop.job("good") / "instrument.yaml"
    lines = path.read_text().splitlines()
    at = next(n for n, line in enumerate(lines) if line.startswith("action_mm:"))
    lines[at] = "action_mm: {1: 2.41, 6: 2.62}"
    path.write_text("\n".join(lines) + "\n")
    _, document = verify(shop, type_in)
    assert document["strung"]["heights"] == "measured"
