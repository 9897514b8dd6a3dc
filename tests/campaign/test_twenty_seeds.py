"""The whole job on twenty simulated instruments and rigs: the figures it must reach."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from daq.cli.main import main

SEEDS = range(1, 21)


@pytest.mark.campaign
def test_twenty_seeds(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    runs = [_run(seed, tmp_path, capsys) for seed in SEEDS]
    page = {key: np.array([run["against_truth"][key] for run in runs]) for key in _KEYS}
    with capsys.disabled():
        sys.stdout.write("\n")
        for key, values in page.items():
            worst = _worst(key, values)
            sys.stdout.write(f"{key}: median {np.median(values):.3f}, worst {worst:.3f}\n")
    assert all(run["feasible"] for run in runs)
    assert np.median(page["unstrung_tops_rms_um"]) < 0.7
    assert page["unstrung_tops_rms_um"].max() < 0.8
    assert page["strung_tops_rms_um"].max() < 2.0
    assert max(page["unstrung_relief_worst_um"].max(), page["strung_relief_worst_um"].max()) < 2.5
    assert max(page["unstrung_twist_off_mrad"].max(), page["strung_twist_off_mrad"].max()) < 0.1
    assert 92.0 <= np.median(page["unstrung_within_twice_u_percent"]) <= 98.0
    assert 92.0 <= np.median(page["strung_within_twice_u_percent"]) <= 98.0
    assert page["worst_true_margin_after_plan_um"].min() >= 0.0
    assert page["worst_true_bend_after_plan_um"].min() >= 0.0
    assert page["metal_share_of_levelling"].max() <= 0.5
    off = np.abs(page["hand_gain_found"] - page["hand_gain_true"])
    assert np.sqrt(np.mean(off**2)) < 0.03


_KEYS = (
    "unstrung_tops_rms_um",
    "strung_tops_rms_um",
    "unstrung_within_twice_u_percent",
    "strung_within_twice_u_percent",
    "unstrung_relief_worst_um",
    "strung_relief_worst_um",
    "unstrung_twist_off_mrad",
    "strung_twist_off_mrad",
    "worst_true_margin_after_plan_um",
    "worst_true_bend_after_plan_um",
    "metal_share_of_levelling",
    "hand_gain_found",
    "hand_gain_true",
)


def _run(seed: int, folder: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    assert main(["demo", "--folder", str(folder / str(seed)), "--seed", str(seed), "--json"]) == 0
    document: dict[str, Any] = json.loads(capsys.readouterr().out)
    return document


def _worst(key: str, values: np.ndarray) -> float:
    if any(word in key for word in ("percent", "margin", "bend")):
        return float(values.min())
    if "gain" in key:
        return float(values[np.argmax(np.abs(values - 0.88))])
    return float(values.max())
