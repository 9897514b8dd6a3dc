"""A neck that is not what it was said to be, and steps taken out of order."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from typing import Any

import pytest

from daq.demo.bench import Bench

Type = Callable[..., Any]

OUT_OF_ORDER = {
    "tops empty --state strung": "found no strung scan; make one with: neckform scan empty",
    "compare empty": "found no strung scan",
    "compare edge": "001-strung.h5: the scan shows 0 crowns",
    "plan empty": "found no strung scan",
    "verify empty": "found no plan; make one with: neckform plan empty",
    "report empty": "holds no scan to report",
    "tops {rail} --instrument {instrument}": "found a rail scan",
    "tops {rail} --instrument {instrument} --state strung": "found a rail scan",
}


def refused(done: Any, says: str) -> None:
    assert done.code == 2
    assert done.faults == done.err.splitlines()
    assert len(done.faults) == 1
    assert says in done.faults[0]
    assert done.out == ""


@pytest.mark.parametrize(("line", "says"), OUT_OF_ORDER.items(), ids=OUT_OF_ORDER)
def test_a_step_too_early(shop: Any, type_in: Type, line: str, says: str) -> None:
    if line == "compare edge":
        shutil.copy(shop.scan("002-unstrung"), shop.scan("002-unstrung", "edge"))
    refused(type_in(shop, line), says)


@pytest.mark.parametrize("state", ["strung", "unstrung"])
@pytest.mark.parametrize("command", ["compare", "plan"])
def test_one_state_alone_is_not_enough(shop: Any, type_in: Type, state: str, command: str) -> None:
    for scan in (shop.job("good") / "scans").glob(f"*-{state}.h5"):
        scan.unlink()
    refused(type_in(shop, f"{command} good"), f"found no {state} scan; make one with")


def test_verify_wants_a_scan_made_since_the_plan(shop: Any, type_in: Type) -> None:
    assert type_in(shop, "plan good").code in (0, 1)
    refused(type_in(shop, "verify good"), "found no unstrung scan since 001.json was made")


def test_a_rescan_in_the_wrong_state(shop: Any, type_in: Type) -> None:
    """A plan that cuts wants an unstrung scan after it, one that cuts nothing a strung one."""
    assert type_in(shop, "plan good --playing gentle").code == 0
    plan = shop.job("good") / "plans" / "001.json"
    document = json.loads(plan.read_text())
    shutil.copy(shop.scan("001-strung"), shop.scan("003-strung"))
    document["cuts"] = [{"fret": 2, "string": 1, "remove_um": 20.0}]
    plan.write_text(json.dumps(document))
    refused(type_in(shop, "verify good"), "only 003-strung.h5, which is strung; what came off is")
    shutil.move(shop.scan("003-strung"), shop.scan("003-unstrung"))
    document["cuts"] = []
    plan.write_text(json.dumps(document))
    refused(type_in(shop, "verify good"), "plans no cut, and job good has no strung scan since it")


@pytest.mark.parametrize(
    "line",
    ["tops on --state unstrung", "compare on", "plan on", "report on"],
)
def test_strings_left_on(shop: Any, type_in: Type, line: str) -> None:
    refused(type_in(shop, line), "the lanes under strings 1, 2, 3, 4, 5 and 6 show a string")


@pytest.mark.parametrize("line", ["compare slack", "plan slack", "tops slack --state strung"])
def test_a_strung_scan_without_strings(shop: Any, type_in: Type, line: str) -> None:
    refused(type_in(shop, line), "the strung scan looks unstrung")


def test_a_scan_gone_wrong_does_not_stand_in_the_way_of_the_next(shop: Any, type_in: Type) -> None:
    shutil.copy(shop.scan("002-unstrung"), shop.scan("003-unstrung", "on"))
    done = type_in(shop, "compare on")
    assert done.code == 0
    assert done.err == ""


@pytest.mark.parametrize("line", ["tops edge --state strung", "report edge"])
def test_a_straightedge_where_the_neck_should_be(shop: Any, type_in: Type, line: str) -> None:
    refused(type_in(shop, line), "the scan shows 0 crowns")


@pytest.mark.parametrize(("state", "other"), [("strung", "unstrung"), ("unstrung", "strung")])
def test_a_scan_file_under_the_other_name(shop: Any, type_in: Type, state: str, other: str) -> None:
    number = {"strung": "001", "unstrung": "002"}
    shutil.copy(shop.scan(f"{number[state]}-{state}"), shop.scan(f"003-{other}"))
    refused(type_in(shop, f"tops good --state {other}"), f"says of itself that it is {state}")


FILES = {
    "a scale too long": (
        ("scale_mm: 641", "scale_mm: 650"),
        "scale_mm: the file says 650, but the frets stand as on a scale of 640.",
    ),
    "a scale too short": (("scale_mm: 641", "scale_mm: 628"), "scale_mm: the file says 628"),
    "too many frets": (("frets: 22", "frets: 24"), "the last one on the scan is fret 22"),
    "too few frets": (("frets: 22", "frets: 20"), "crowns stand on to where fret 22 would"),
    "a string less": (
        ("  - {note: E2, gauge_in: 0.046, wound: true}\n", ""),
        "was made over 6 strings, and the instrument file has 5",
    ),
}


@pytest.mark.parametrize(("changed", "says"), FILES.values(), ids=FILES)
@pytest.mark.parametrize("state", ["strung", "unstrung"])
def test_a_scan_that_contradicts_the_file(
    shop: Any, type_in: Type, changed: tuple[str, str], says: str, state: str
) -> None:
    file = shop.job("good") / "instrument.yaml"
    text = file.read_text().replace(*changed)
    if "E2" not in text:
        text = text.replace("6: 1.9", "5: 1.9").replace("6: 0.5", "5: 0.5")
    file.write_text(text)
    refused(type_in(shop, f"tops good --state {state}"), says)
    shutil.copy(file, shop.instrument)
    refused(type_in(shop, f"tops {{{state}}} --instrument {{instrument}}"), says)


def test_the_job_s_own_file_is_named(shop: Any, type_in: Type) -> None:
    file = shop.job("good") / "instrument.yaml"
    file.write_text(file.read_text().replace("frets: 22", "frets: 24"))
    assert str(file) in type_in(shop, "tops good --state strung").faults[0]


def test_a_scan_says_at_once_what_it_saw(live: Any, bench: Bench, type_in: Type) -> None:
    """Strings left on, told while the neck is still on the rig; the scan is kept all the same."""
    done = type_in(live, "scan empty --rig {rig} --state unstrung --json")
    assert done.code == 0
    assert len(done.faults) == 1
    assert "take the strings off and scan unstrung again" in done.faults[0]
    assert live.scan("001-unstrung", "empty").exists()
    assert done.faults[0].removeprefix("neckform: ") in done.out


def test_nothing_on_the_rig(live: Any, bench: Bench, type_in: Type) -> None:
    bench.do("place", what="nothing")
    done = type_in(live, "scan empty --rig {rig} --state strung")
    assert done.code == 3
    assert len(done.faults) == 1
    assert "does anything lie on the rig" in done.faults[0]
    assert type_in(live, "recover").code == 0
    refused(type_in(live, "tops empty --state strung"), "found good passes over 0 of 5 lanes")


@pytest.mark.parametrize(
    ("what", "line", "says", "scans"),
    [
        (
            {"what": "neck"},
            "calibrate rail --rig {rig}",
            "is a neck on the rig?; no map was kept",
            1,
        ),
        # along the middle, and once more to one side
        ({"what": "gauge", "mm": 3.0}, "calibrate lag --rig {rig}", "too even to match", 2),
    ],
)
def test_a_calibration_over_the_wrong_thing(
    live: Any, bench: Bench, type_in: Type, what: dict[str, Any], line: str, says: str, scans: int
) -> None:
    bench.do("place", **what)
    done = type_in(live, line)
    assert done.code == 2
    assert len(done.faults) == 1
    assert says in done.faults[0]
    kept = live.root / "calibrations/simulated-rail"
    assert len(list(kept.glob("*.json"))) == 1
    assert len(list((kept / "scans").glob("*.h5"))) == 1 + scans
