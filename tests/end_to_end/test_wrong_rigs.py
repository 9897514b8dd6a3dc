"""What a builder gets wrong and only driving shows, each told in its own line with the cure."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from daq.demo.bench import Bench, software_rig

Type = Callable[..., Any]
FAULTS = "lag_ms=6,backlash_mm=0.1,noise_um=3,bad_frame_one_in=200,spike_one_in=500"


def wrong(shop: Any, *changes: tuple[str, str]) -> None:
    text = shop.rig.read_text()
    for pattern, put in changes:
        text, times = re.subn(pattern, put, text)
        assert times == 1, pattern
    shop.rig.write_text(text)


def checked(shop: Any, type_in: Type) -> tuple[int, str, list[str]]:
    """Exit code, status of the document and the fault lines."""
    done = type_in(shop, "rig check {rig} --json --yes")
    status = json.loads(done.out)["status"] if done.out else ""
    return done.code, status, done.faults


@pytest.mark.parametrize("what", ["neck", "nothing"])
def test_a_right_rig_file(live: Any, bench: Bench, type_in: Type, what: str) -> None:
    bench.do("place", what=what)
    assert checked(live, type_in) == (0, "ok", [])


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        (
            [(r"from_mm: 4, to_mm: 16", "from_mm: 12, to_mm: 24")],
            r"the first pad is not where the rig file has it: found 12 to 24 mm, seen at "
            r"(3\.\d|4\.\d) to (15\.\d|16\.\d) mm; write for pad 1: "
            r"\{from_mm: \1, to_mm: \2\}$",
        ),
        (
            [(r"from_mm: 600, to_mm: 614", "from_mm: 590, to_mm: 614")],
            r"the last pad is not where .*: found 590 to 614 mm, seen at (599\.\d|600\.\d) to "
            r"(613\.\d|614\.\d) mm; write for pad 2: \{from_mm: \1, to_mm: \2\}$",
        ),
        (
            [(r"  mm_per_count: 0\.005", "  mm_per_count: 0.0055")],
            r"the carriage's scale is off: the pads lie at 1\.\d+ times their places in the rig "
            r"file; carriage\.mm_per_count is 0\.0055 there, and 0\.00(49|50)\d* fits them$",
        ),
    ],
)
def test_a_wrong_rig_file(
    live: Any, type_in: Type, changes: list[tuple[str, str]], says: str
) -> None:
    wrong(live, *changes)
    code, status, faults = checked(live, type_in)
    assert (code, faults) == (1, [])
    assert re.search(says, status.split("; the rail calibration")[0]), status


def test_a_rig_that_refuses_what_its_file_promises(live: Any, type_in: Type) -> None:
    wrong(live, (r"  mm_per_count: 0\.005", "  mm_per_count: 0.0025"))
    code, _, (fault,) = checked(live, type_in)
    assert code == 3
    assert "refused a move" in fault
    assert "check carriage.travel_mm and carriage.mm_per_count" in fault


SEEDS = [
    pytest.param(seed, marks=[pytest.mark.campaign] if seed > 4 else []) for seed in range(2, 53)
]


@pytest.mark.parametrize("seed", SEEDS)
def test_right_rig_files_of_faulty_rigs(
    seed: int, type_in: Type, tmp_path: Path, made: Any
) -> None:
    sensor = ["--sensor", "optical"] if seed % 3 == 0 else []
    shop = type(made)(tmp_path)
    with software_rig(seed, "--set", FAULTS, *sensor) as bench:
        bench.do("place", what="neck")
        bench.do("state", state="unstrung" if seed % 2 else "strung")
        bench.do("files", folder=str(tmp_path))
        assert checked(shop, type_in) == (0, "ok", [])


def test_a_sensor_that_counts_the_wrong_way_round(live: Any, type_in: Type) -> None:
    wrong(live, (r"  mm_per_count: 0\.001", "  mm_per_count: -0.001"))
    done = type_in(live, "scan empty --rig {rig} --state strung")
    said = done.faults if done.code else type_in(live, "tops empty --state strung").faults
    (fault,) = said
    assert "the crowns point down" in fault
    assert "change the sign of sensor.mm_per_count in the rig file, and scan again" in fault
