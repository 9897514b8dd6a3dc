"""What is left of each of a rig's errors once it is calibrated, and of a neck read with it.

Every rig is simulated, calibrated as a person would and used for one unstrung scan. The figures
are printed; what they must reach is asserted.
"""

from __future__ import annotations

import json
import sys
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from daq.cli.main import main
from daq.demo.bench import Bench, software_rig
from daq.reading.rail import rail_of

SEEDS = (1, 2, 3)
#: Rigs with one thing each that is worse than usual.
RIGS = {
    "one link": (),
    "optical": ("--sensor", "optical"),
    "two links": ("--links", "2", "--pace", "5"),
    "two links, late": ("--links", "2", "--pace", "5", "--set", "arrival_jitter_ms=5"),
    "drift": ("--set", "drift_um_per_min=20,drift_wander=3"),
    "slack": ("--set", "backlash_mm=0.09,backlash_slope_um_per_m=40"),
}


@pytest.mark.campaign
@pytest.mark.parametrize("name", RIGS)
def test_a_calibrated_rig(name: str, tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    found = [
        _figures(software_rig(seed, *RIGS[name]), tmp_path / str(seed), capfd) for seed in SEEDS
    ]
    page = {key: np.array([one[key] for one in found]) for key in found[0]}
    with capfd.disabled():
        said = ", ".join(f"{key} {np.round(values, 3).tolist()}" for key, values in page.items())
        sys.stdout.write(f"\n{name}: {said}\n")
    assert page["rail_um"].max() < 1.0
    if "two links" not in name:
        # what one link is later than the other stands in the lag, and goes out with it
        assert np.abs(page["lag_off_ms"]).max() < 0.05
        assert np.abs(page["backlash_off_um"]).max() < 2.0
    assert page["tops_um"].max() < 2.0


def _figures(
    rig: AbstractContextManager[Bench], folder: Path, capfd: pytest.CaptureFixture[str]
) -> dict[str, float]:
    def type_in(line: str) -> dict[str, Any]:
        capfd.readouterr()
        code = main(["--workshop", str(folder), *line.split(), "--json"])
        out, err = capfd.readouterr()
        assert code == 0, err
        document: dict[str, Any] = json.loads(out)
        return document

    with rig as bench:
        files = bench.do("files", folder=str(folder))
        given, instrument = f"--rig {files['rig']} --yes", f"--instrument {files['instrument']}"
        bench.do("place", what="straightedge")
        rail = type_in(f"calibrate rail {given} --reference straightedge")
        bench.do("place", what="neck")
        bench.do("state", state="unstrung")
        lag = type_in(f"calibrate lag {given}")
        type_in(f"job new neck {instrument}")
        type_in(f"scan neck {given} --state unstrung")
        tops = type_in("tops neck --state unstrung")
        truth = bench.do("truth")
    off = _tops_off_um(tops, truth)
    slack_mm = truth["backlash_mm"] + 1e-6 * truth["backlash_slope_um_per_m"] * lag["middle_mm"]
    return {
        "rail_um": _rail_off_um(Path(rail["file"]), truth),
        "lag_off_ms": lag["lag_ms"] - truth["lag_ms"],
        "backlash_off_um": 1e3 * (lag["backlash_mm"] - slack_mm),
        "tops_um": float(np.sqrt(np.mean(off**2))),
        "within_2u": float(np.mean(np.abs(off) < 2e3 * _u(tops))),
    }


def _rail_off_um(path: Path, truth: dict[str, Any]) -> float:
    """Rms between the kept map and the simulated rail, a straight line apart."""
    document = json.loads(path.read_text(encoding="utf-8"))
    x = np.array(document["x_mm"])[4:-4]
    value, _ = rail_of(document).at(x, np.zeros(x.size))
    really = x * (1.0 + 1e-2 * truth["screw_percent"])
    off = 1e3 * value - CubicSpline(truth["rail_x_mm"], truth["rail_um"])(really)
    return float(np.std(off - np.polyval(np.polyfit(x, off, 1), x)))


def _u(tops: dict[str, Any]) -> np.ndarray:
    return np.array([one["u_top_mm"] for one in tops["frets"]])


def _tops_off_um(tops: dict[str, Any], truth: dict[str, Any]) -> np.ndarray:
    """Found less true, the best plane off."""
    fret, string = (np.array([one[key] for one in tops["frets"]]) - 1 for key in ("fret", "string"))
    x, y = np.array(truth["x_mm"])[fret], np.array(truth["string_y_mm"])[fret, string]
    true_mm = np.array(truth["tops_mm"]["unstrung"])[fret, string]
    off = 1e3 * (np.array([one["top_mm"] for one in tops["frets"]]) - true_mm)
    design = np.column_stack([np.ones(x.size), x, y])
    return np.asarray(off - design @ np.linalg.lstsq(design, off, rcond=None)[0])
