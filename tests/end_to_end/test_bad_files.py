"""Files that are wrong, cut short, damaged or something else: a line a fault, nothing lost."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import h5py
import pytest

Type = Callable[..., Any]


def change(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


INSTRUMENTS: dict[str, tuple[list[tuple[str, str]], list[str]]] = {
    "an unknown key": (
        [("frets: 22", "frets: 22\nfretts: 22")],
        ["fretts: found an unknown key; allowed only name"],
    ),
    "a missing key": ([("frets: 22", "")], ["frets: found nothing; allowed a whole number"]),
    "a gauge of 10": (
        [("gauge_in: 0.010", "gauge_in: 10")],
        ["strings[1].gauge_in: found 10; allowed a number from 0.005 to 0.15 inch; 10 looks like"],
    ),
    "a gauge in millimetres": (
        [("gauge_in: 0.046", "gauge_in: 1.17")],
        ["strings[6].gauge_in: found 1.17", "looks like millimetres"],
    ),
    "a scale in inches": (
        [("scale_mm: 641", "scale_mm: 25.24")],
        ["scale_mm: found 25.24", "looks like inches: write 641.096"],
    ),
    "a comma for a point": (
        [("nut_at_mm: 61", "nut_at_mm: 61,5")],
        ["nut_at_mm: found text '61,5'", "write 61.5 with a point"],
    ),
    "a note without its octave": ([("note: E4", "note: E")], ["a note with its octave"]),
}


@pytest.mark.parametrize(("changes", "says"), INSTRUMENTS.values(), ids=INSTRUMENTS)
def test_an_instrument_file_with_a_fault(
    shop: Any, type_in: Type, changes: list[tuple[str, str]], says: list[str]
) -> None:
    for old, new in changes:
        change(shop.instrument, old, new)
    done = type_in(shop, "job new late --instrument {instrument}")
    assert done.code == 2
    assert done.faults == done.err.splitlines()
    assert len(done.faults) == 1
    assert f"{shop.instrument}:" in done.faults[0]
    for part in says:
        assert part in done.faults[0]
    assert not shop.job("late").exists()


def test_every_fault_has_its_line(shop: Any, type_in: Type) -> None:
    change(shop.instrument, "gauge_in: 0.010", "gauge_in: 10")
    change(shop.instrument, "scale_mm: 641", "scale: 641")
    change(shop.instrument, "frets: 22", "frets: 2200")
    done = type_in(shop, "job new late --instrument {instrument}")
    assert done.code == 2
    assert done.faults == done.err.splitlines()
    for part in ("scale: found an unknown key", "scale_mm: found nothing", "frets: found 2200"):
        assert sum(part in line for line in done.faults) == 1
    assert len(done.faults) == 4


RIGS = {
    "an unknown key": ("name: simulated-rail", "name: simulated-rail\nspeed: 3", "unknown key"),
    "a speed that leaves no samples": ("speed_mm_s: 25", "speed_mm_s: 250", "a sample every"),
    "a pad outside the travel": ("to_mm: 614", "to_mm: 714", "inside carriage.travel_mm"),
    "a link there is not": ("link: rig", "link: rigg", "did you mean rig?"),
    "a tab": ("carriage:", "carriage:\n\tlink: rig", "found a tab"),
}


@pytest.mark.parametrize(("old", "new", "says"), RIGS.values(), ids=RIGS)
@pytest.mark.parametrize("line", ["rig check {rig}", "scan good --rig {rig} --state strung"])
def test_a_rig_file_with_a_fault(
    shop: Any, type_in: Type, old: str, new: str, says: str, line: str
) -> None:
    change(shop.rig, old, new)
    done = type_in(shop, line)
    assert done.code == 2
    assert done.faults == done.err.splitlines()
    assert len(done.faults) == 1
    assert f"{shop.rig}:" in done.faults[0]
    assert says in done.faults[0]


def test_a_playing_file_with_faults(shop: Any, type_in: Type) -> None:
    (shop.folder / "me.yaml").write_text(
        "name: me\npluck_force_n: 60\npluck_from_saddle_mm: 120\nbend_semitones: 2\n"
        "least_fret_mm: 0.6\nhighest_action_mm: {1: 1.7, 6: 2.2}\nguards: 2\n"
    )
    done = type_in(shop, "plan good --playing {folder}/me.yaml")
    assert done.code == 2
    assert done.faults == done.err.splitlines()
    assert len(done.faults) == 3
    for part in ("pluck_force_n: found 60", "guards: found an unknown key", "guard: found nothing"):
        assert sum(part in line for line in done.faults) == 1


NOT_THERE = {
    "rig check {folder}/none.yaml": 2,
    "job new late --instrument {folder}/none.yaml": 2,
    "job new late --instrument {folder}": 2,
    "job new late --instrument {strung}": 2,
    "plan good --playing {folder}/none.yaml": 2,
    "plan good --playing {instrument}": 2,
    "tops {folder}/none.h5 --instrument {instrument}": 3,
    "tops {strung} --instrument {folder}/none.yaml": 2,
    "replay {folder}/none.h5 --to {folder}/new.h5": 3,
    "replay {instrument} --to {folder}/new.h5": 3,
    "replay {folder} --to {folder}/new.h5": 3,
    "replay {strung} --to {folder}/none/new.h5": 3,
    "recover {folder}/none": 3,
    "recover {instrument}": 3,
}


@pytest.mark.parametrize(("line", "code"), NOT_THERE.items(), ids=NOT_THERE)
def test_what_is_not_there_or_something_else(
    shop: Any, type_in: Type, line: str, code: int
) -> None:
    done = type_in(shop, line)
    assert done.code == code
    assert done.faults
    assert done.faults == done.err.splitlines()
    assert done.out == ""
    assert not (shop.folder / "new.h5").exists()


def cut(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:100_000])


def empty(path: Path) -> None:
    path.write_bytes(b"")


def words(path: Path) -> None:
    path.write_text("a scan, honestly")


def foreign(path: Path) -> None:
    path.unlink()
    with h5py.File(path, "w") as file:
        file["entry"] = 1


def gone(path: Path) -> None:
    path.unlink()
    path.mkdir()


NO_SCANS = {
    cut: "cut short",
    empty: "found an empty file",
    words: "a scan file is HDF5",
    foreign: "is HDF5, but not a neckform scan",
    gone: "Is a directory",
}


@pytest.mark.parametrize(
    ("spoil", "says"), NO_SCANS.items(), ids=[one.__name__ for one in NO_SCANS]
)
def test_a_file_that_is_no_scan(
    shop: Any, type_in: Type, spoil: Callable[[Path], None], says: str
) -> None:
    path = spoil_own(shop, spoil)
    for line in ("tops good --state unstrung", "plan good", "replay {unstrung} --to new.h5"):
        done = type_in(shop, line)
        assert done.code == 3
        assert len(done.faults) == 1
        assert done.faults == done.err.splitlines()
        assert str(path) in done.faults[0]
        assert says in done.faults[0]


def spoil_own(shop: Any, spoil: Callable[[Path], None]) -> Path:
    path: Path = shop.own("002-unstrung")
    spoil(path)
    return path


INSIDE = {
    "cut": '{"kind": "rail", "made": "20',
    "nothing": "",
    "a list": "[]",
    "no time": '{"kind": "rail"}',
    "no keys": '{"kind": "rail", "made": "2999-01-02T03:04:05+01:00"}',
    "words for numbers": json.dumps(
        {"made": "2999-01-02T03:04:05+01:00", "x_mm": ["a"], "r_um": [1], "u_um": [1]}
    ),
    "not of one length": json.dumps(
        {"made": "2999-01-02T03:04:05+01:00", "x_mm": [1, 2], "r_um": [1], "u_um": [1, 2]}
    ),
    "x that falls": json.dumps(
        {"made": "2999-01-02T03:04:05+01:00", "x_mm": [2, 1], "r_um": [1, 1], "u_um": [1, 2]}
    ),
}


@pytest.mark.parametrize("text", INSIDE.values(), ids=INSIDE)
@pytest.mark.parametrize(
    "line", ["tops good --state unstrung", "tops {unstrung} --instrument {instrument}"]
)
def test_a_damaged_calibration_in_a_scan(shop: Any, type_in: Type, text: str, line: str) -> None:
    with h5py.File(shop.own("002-unstrung"), "r+") as file:
        calibrations = file["entry/texts/calibrations"]
        del calibrations["rail"]
        calibrations["rail"] = text
    done = type_in(shop, line)
    assert done.code == 3
    assert len(done.faults) == 1
    assert done.faults == done.err.splitlines()
    assert f"{shop.scan('002-unstrung')}: rail calibration" in done.faults[0]


def test_a_damaged_calibration_in_the_workshop_is_not_passed_over(shop: Any, type_in: Type) -> None:
    (kept,) = (shop.root / "calibrations/simulated-rail").glob("rail-*.json")
    kept.write_text(kept.read_text()[:200])
    done = type_in(shop, "tops good --state unstrung")
    assert done.code == 3
    assert len(done.faults) == 1
    assert str(kept) in done.faults[0]


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("{}", "verify good"),
        ("[]", "verify good"),
        ("{", "verify good"),
        ("", "report good"),
        ('{"cuts": []}', "report good"),
    ],
)
def test_a_damaged_plan(shop: Any, type_in: Type, text: str, line: str) -> None:
    plan = shop.job("good") / "plans/001.json"
    plan.parent.mkdir()
    plan.write_text(text)
    done = type_in(shop, line)
    assert done.code == 3
    assert done.faults == done.err.splitlines()
    assert len(done.faults) == 1
    assert str(plan) in done.faults[0]


def test_a_journal_that_is_none(shop: Any, type_in: Type) -> None:
    journal = shop.job("good") / "scans/003-strung.journal"
    journal.write_text("dear diary")
    done = type_in(shop, "recover --json")
    assert done.code == 3
    assert len(done.faults) == 1
    assert json.loads(done.out)["recovered"][0]["scan"] is None
    assert journal.read_text() == "dear diary"
