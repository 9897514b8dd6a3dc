"""Strung on one day, unstrung on another: taken off the rig in between and put back 4 mm along."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from daq.cli.main import main
from daq.demo.bench import software_rig
from daq.demo.truth import shape_error_mm, tops_before_cut_mm
from daq.reading.job import BothStates, both_states
from daq.reading.reader import JobReader
from daq.workshop.place import Workshop

SEEDS = (2, 5, 8)


@pytest.mark.campaign
@pytest.mark.parametrize("seed", SEEDS)
def test_strung_tops_of_a_neck_clamped_anew(tmp_path: Path, seed: int) -> None:
    """Under 2 um rms, under the outermost strings by themselves too, and as sure as is said."""
    both, truth = _scanned(tmp_path, seed)
    off = shape_error_mm(both.strung_then, tops_before_cut_mm(truth, "strung"))
    assert np.sqrt(np.mean(off**2)) < 1e-3
    assert np.sqrt(np.mean(off[:, [0, 5]] ** 2)) < 1.5e-3
    assert np.mean(np.abs(off) <= 2.0 * both.strung_then.u_top_mm) > 0.92
    assert {one.kind for one in both.findings} - {"turned", "raised", "tilted"} == {"shifted"}


def _scanned(folder: Path, seed: int) -> tuple[BothStates, Mapping[str, Any]]:
    shop, rig = folder / "workshop", str(folder / "rig.yaml")

    def does(*words: str) -> None:
        assert main(["--workshop", str(shop), *words]) == 0

    with software_rig(seed) as bench:
        bench.do("files", folder=str(folder))
        bench.do("place", what="straightedge")
        does("calibrate", "rail", "--rig", rig, "--reference", "straightedge")
        bench.do("place", what="neck")
        bench.do("state", state="strung")
        does("calibrate", "lag", "--rig", rig)
        does("job", "new", "anew", "--instrument", str(folder / "instrument.yaml"))
        does("scan", "anew", "--rig", rig, "--state", "strung")
        bench.do("state", state="unstrung")
        bench.do("place", what="neck", shift_mm=4.0)
        does("scan", "anew", "--rig", rig, "--state", "unstrung")
        truth = bench.do("truth")
    workshop = Workshop(shop)
    return both_states(JobReader(workshop, workshop.job("anew"))), truth
