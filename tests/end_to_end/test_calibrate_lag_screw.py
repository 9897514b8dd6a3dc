"""Lag and screw as typed, on the simulated rig."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

Type = Callable[..., Any]
RIG = "--rig {rig}"
SCREW = "calibrate screw --rig {rig} --instrument {instrument}"


def kept(shop: Any, kind: str) -> list[str]:
    folder = shop.root / "calibrations/simulated-rail"
    return [path.name for path in folder.glob(f"{kind}-*.json")]


def test_lag_is_found(live: Any, type_in: Type) -> None:
    done = type_in(live, f"calibrate lag {RIG} --json")
    assert done.code == 0
    found = json.loads(done.out)
    assert found["lag_ms"] == pytest.approx(3.5, abs=0.05)
    assert found["backlash_mm"] == pytest.approx(0.045, abs=0.002)
    assert not found["backlash_varies"]
    assert found["apart_um"] < 1.0
    assert kept(live, "lag")


def test_screw_is_found_between_the_strings(live: Any, type_in: Type) -> None:
    done = type_in(live, f"{SCREW} --pitch-mm 2 --json")
    assert done.code == 0
    found = json.loads(done.out)
    assert found["scale_ppm"] == pytest.approx(400.0, abs=3.5 * found["u_scale_ppm"])
    assert found["amplitude_um"] is None
    assert any("One placement" in words for words in found["unseen"])
    assert kept(live, "screw")


def test_a_neck_that_was_not_moved_is_refused(live: Any, type_in: Type) -> None:
    done = type_in(live, f"{SCREW} --placements 2 --yes")
    assert done.code == 2
    assert len(done.faults) == 1
    assert "move it along the rail" in done.faults[0]
    assert not kept(live, "screw")


@pytest.mark.parametrize("command", [f"calibrate lag {RIG}", SCREW])
def test_an_empty_rig_shows_nothing(command: str, live: Any, bench: Any, type_in: Type) -> None:
    bench.do("place", what="nothing")
    done = type_in(live, command)
    assert done.code in (2, 3)
    assert len(done.faults) == 1
    assert not kept(live, command.split()[1])


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ("--placements 9", "--placements: found 9; allowed 1 to 5"),
        ("--pitch-mm 0", "--pitch-mm: found 0; allowed 0.3 to 200 mm"),
    ],
)
def test_options_out_of_range(options: str, words: str, live: Any, type_in: Type) -> None:
    done = type_in(live, f"{SCREW} {options}")
    assert done.code == 2
    assert words in done.faults[0]


def test_another_scale_length_is_named(live: Any, type_in: Type) -> None:
    text = live.instrument.read_text(encoding="utf-8")
    live.instrument.write_text(text.replace("scale_mm: 641", "scale_mm: 628"), encoding="utf-8")
    done = type_in(live, SCREW)
    assert done.code == 2
    assert "scale_mm: the file says 628" in done.faults[0]
    assert not kept(live, "screw")
