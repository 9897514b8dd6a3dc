"""Today's rig against its calibrations, on the simulated rig."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Type = Callable[..., Any]


def rail_document(live: Any) -> Path:
    (path,) = live.folder.glob("**/rail-*.json")
    assert isinstance(path, Path)
    return path


def test_the_pads_are_compared_where_one_agrees(live: Any, type_in: Type) -> None:
    done = type_in(live, "rig check {rig} --json --yes")
    assert done.code == 0
    found = json.loads(done.out)
    assert found["fit"] is True
    assert found["noise_then_um"] == pytest.approx(1.5, rel=0.2)
    assert found["rate_then_hz"] == pytest.approx(400.0, rel=0.01)
    assert found["pads"]["moved"] is False
    assert abs(found["pads"]["change_um"]) < 2.0
    states = {one["kind"]: one["state"] for one in found["calibrations"]}
    assert states == {"rail": "ok", "lag": "missing", "sensor": "missing"}
    assert found["redo"] == ["calibrate lag (not calibrated)"]
    assert "is fit to scan, but not to the micrometre: no lag calibration" in done.err
    assert done.err.count("redo:") == 1


def test_nobody_to_ask_leaves_the_pads_alone(live: Any, type_in: Type) -> None:
    done = type_in(live, "rig check {rig} --json")
    assert done.code == 0
    assert json.loads(done.out)["pads"] is None
    assert "the pads were not compared" in " ".join(done.err.split())


def test_another_rig_file_is_not_fit(live: Any, type_in: Type) -> None:
    path = live.folder / "rig.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("tip_radius_mm: 1", "tip_radius_mm: 2"), encoding="utf-8")
    done = type_in(live, "rig check {rig} --json")
    assert done.code == 1
    found = json.loads(done.out)
    assert found["fit"] is False
    assert "sensor.tip_radius_mm was 1, is 2" in found["status"]
    assert "calibrate rail (made with another rig file)" in found["redo"]


def test_an_old_map_shows_its_age(live: Any, type_in: Type) -> None:
    path = rail_document(live)
    document = json.loads(path.read_text(encoding="utf-8"))
    document["made"] = "2020-01-01T12:00:00+00:00"
    path.write_text(json.dumps(document), encoding="utf-8")
    done = type_in(live, "rig check {rig} --json")
    assert done.code == 0
    (redo,) = (each for each in json.loads(done.out)["redo"] if "rail" in each)
    assert redo.startswith("calibrate rail (")
    assert redo.endswith(" days old)")


def test_a_damaged_map_is_named(live: Any, type_in: Type) -> None:
    rail_document(live).write_text("[1, 2", encoding="utf-8")
    done = type_in(live, "rig check {rig} --json")
    assert done.code == 1
    assert "the rail calibration cannot be used" in json.loads(done.out)["status"]
