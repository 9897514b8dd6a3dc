"""The report of a planned job: as it came out, as it was stored otherwise, as older ones are."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from html import unescape
from pathlib import Path
from typing import Any

import pytest

Type = Callable[..., Any]
NOT_SAME = "made by another program, or calibrations have changed"
#: What plans of before this report said less of themselves do not hold.
NEWER = (
    "heights", "bench", "expect", "sensitivity", "uncertainty_cost", "life", "doubts", "chokes",
    "chokes_after", "choke_cut", "widest_bends", "in_the_way", "no_neck", "aims_by", "rod_since",
)  # fmt: skip


@pytest.fixture
def planned(shop: Any, type_in: Type) -> Any:
    assert type_in(shop, "plan good --playing gentle --keep rod --keep nut --keep saddles").code < 2
    return shop


def stored(shop: Any) -> Path:
    return Path(shop.job("good") / "plans" / "001.json")


def page(shop: Any, type_in: Type) -> str:
    assert type_in(shop, "report good").code == 0
    return unescape((shop.job("good") / "report.html").read_text(encoding="utf-8"))


def test_a_plan_comes_out_again_as_it_was_stored(planned: Any, type_in: Type) -> None:
    told = page(planned, type_in)
    assert NOT_SAME not in told
    for title in ("Where each string has least room", "How far each string may be bent"):
        assert title in told


def test_cuts_and_screws_that_went_to_the_bench_are_those_shown(
    planned: Any, type_in: Type
) -> None:
    path = stored(planned)
    document = json.loads(path.read_text())
    document["cuts"] = [{"fret": 9, "string": 3, "remove_um": 41.0}]
    document["saddles"][0]["change_mm"] = 0.2
    document["feasible"] = True
    path.write_text(json.dumps(document))
    told = page(planned, type_in)
    assert NOT_SAME in told
    assert "<td>+0.20</td>" in told
    assert "Lower fret 9 under string 3 by 0.04 mm." in told
    assert "summed over every fret and string: 41 µm" in told


def test_a_plan_of_an_older_form_is_reported(planned: Any, type_in: Type) -> None:
    path = stored(planned)
    document = json.loads(path.read_text())
    older = {key: value for key, value in document.items() if key not in NEWER}
    assert len(older) == len(document) - len(NEWER)
    path.write_text(json.dumps(older))
    assert NOT_SAME not in page(planned, type_in)


def test_string_heights_are_those_the_plan_was_made_for(planned: Any, type_in: Type) -> None:
    """Measured anew after the work, they must not make another plan of the one that was done."""
    of_job = planned.job("good") / "instrument.yaml"
    text = of_job.read_text()
    old = next(line for line in text.splitlines() if line.startswith("action_mm:"))
    of_job.write_text(text.replace(old, "action_mm: {1: 2.4, 6: 2.4}"))
    assert NOT_SAME not in page(planned, type_in)
    document = json.loads(stored(planned).read_text())
    stored(planned).write_text(json.dumps({**document, "heights": {"action_mm": [1.0]}}))
    done = type_in(planned, "report good")
    assert done.code == 3
    assert "heights.action_mm: found [1.0]; allowed 6 numbers" in done.faults[0]


def test_the_strung_end_is_in_the_report(planned: Any, type_in: Type) -> None:
    path = stored(planned)
    document = json.loads(path.read_text())
    path.write_text(json.dumps({**document, "cuts": []}))
    shutil.copy(planned.scan("001-strung"), planned.scan("003-strung"))
    assert type_in(planned, "verify good").code < 2
    told = page(planned, type_in)
    assert "Relief of the strung neck, predicted and measured" in told
    assert "Bending aside, tops lie" in told
    check = planned.job("good") / "checks" / "001.json"
    spoiled = json.loads(check.read_text())
    spoiled["strung"]["relief"][0]["verdict"] = "fine"
    check.write_text(json.dumps(spoiled))
    done = type_in(planned, "report good")
    assert done.code == 3
    assert "strung.relief[0].verdict: found 'fine'" in done.faults[0]
