"""A rod turned between scans, through the commands: learnt, used, and what it gave told."""

from __future__ import annotations

import io
import json
import shutil
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import h5py
import numpy as np
import pytest

from daq.cli.main import main
from daq.demo.bench import software_rig

Type = Callable[..., Any]
JOINT = 16


@dataclass(frozen=True)
class Turned:
    """A job scanned strung and unstrung, planned, its rod turned a quarter, scanned strung.

    answers: what each command printed as JSON; said: what people were told; codes: its exit code.
    truth: before and after the turn.
    """

    folder: Path
    answers: dict[str, Any]
    said: dict[str, str]
    codes: dict[str, int]
    truth: tuple[dict[str, Any], dict[str, Any]]

    def words(self, line: str) -> list[str]:
        return ["--workshop", str(self.folder / "workshop"), *line.split()]


@pytest.fixture(scope="module")
def turned(tmp_path_factory: pytest.TempPathFactory) -> Turned:
    folder = tmp_path_factory.mktemp("turned")
    answers: dict[str, Any] = {}
    said: dict[str, str] = {}
    codes: dict[str, int] = {}
    with software_rig(31) as bench, pytest.MonkeyPatch.context() as patch:
        bench.do("files", folder=str(folder))
        job = Turned(folder, answers, said, codes, ({}, {}))
        rig = f"--rig {folder / 'rig.yaml'}"

        def do(name: str, line: str) -> None:
            codes[name], out, err = _caught(patch, job.words(f"{line} --json"))
            answers[name], said[name] = json.loads(out), " ".join(err.split())

        bench.do("place", what="straightedge")
        do("rail", f"calibrate rail {rig} --reference straightedge")
        bench.do("place", what="neck")
        do("job", f"job new one --instrument {folder / 'instrument.yaml'}")
        do("strung", f"scan one {rig} --state strung")
        bench.do("state", state="unstrung")
        do("unstrung", f"scan one {rig} --state unstrung")
        do("not learnt", "rod one")
        do("first plan", "plan one")
        loose = bench.do("truth")
        bench.do("state", state="strung")
        bench.do("rod", turns=0.25)
        do("tighter", f"scan one {rig} --state strung --rod 0.25")
        do("learnt", "rod one")
        do("compared", "compare one")
        bench.do("state", state="unstrung")
        do("carried on", f"scan one {rig} --state unstrung")
        do("compared again", "compare one")
        do("learnt again", "rod one")
        do("second plan", "plan one")
        return Turned(folder, answers, said, codes, (loose, bench.do("truth")))


def _caught(patch: pytest.MonkeyPatch, words: list[str]) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    patch.setenv("COLUMNS", "200")
    with redirect_stdout(out), redirect_stderr(err):
        code = main(words)
    return code, out.getvalue(), err.getvalue()


def true_mm_per_turn(turned: Turned) -> float:
    """Of the strung tops, over the chord from fret 1, mean of the strings."""
    before, after = (np.array(one["tops_mm"]["strung"]) for one in turned.truth)
    x = np.array(turned.truth[0]["x_mm"])[:JOINT, None]
    share = (x - x[0]) / (x[-1] - x[0])
    lift = (after - before)[:JOINT]
    depth = lift - lift[0] - share * (lift[-1] - lift[0])
    return float(4.0 * np.polyval(np.polyfit(share[:, 0] - 0.5, depth.mean(axis=1), 2), 0.0))


def test_what_each_scan_is_taken_to_be(turned: Turned) -> None:
    taken = {
        name: (turned.answers[name]["rod_turns"], turned.answers[name]["rod_taken_from"])
        for name in ("strung", "unstrung", "tighter", "carried on")
    }
    assert taken == {
        "strung": (0.0, None),
        "unstrung": (0.0, "001-strung.h5"),
        "tighter": (0.25, None),
        "carried on": (0.25, "003-strung.h5"),
    }
    assert "0.25 turn tighter than when the job was opened." in turned.said["tighter"]
    assert "if it resists, stop" in turned.said["tighter"]
    assert "as in 003-strung.h5: nothing else was said" in turned.said["carried on"]


def test_without_two_settings_there_is_nothing_to_learn(turned: Turned) -> None:
    assert turned.codes["not learnt"] == 1
    assert turned.answers["not learnt"]["learnt"] is False
    assert "--state strung --rod 0.25" in turned.said["not learnt"]
    first = turned.answers["first plan"]["rod"]
    assert (first["learnt"], first["mm_per_turn"]) == (False, 0.4)


def test_the_rod_is_learnt(turned: Turned) -> None:
    found = turned.answers["learnt"]
    assert turned.codes["learnt"] == 0
    (turn,) = found["turns"]
    assert (turn["before"], turn["after"]) == ("001-strung.h5", "003-strung.h5")
    true = true_mm_per_turn(turned)
    assert abs(found["mm_per_turn"] - true) < 2.0 * found["u_mm_per_turn"]
    # the software rig's hand turns a quarter exactly: only the scans err
    off = turn["relief_change_mm"] + 0.25 * true
    assert abs(off) < max(4.0 * turn["u_relief_change_mm"], 2e-4)
    assert abs(found["follows"] - 1.0) < 0.05
    assert found["linear"] is None


def test_the_shape_learnt_tells_where_every_top_goes(turned: Turned) -> None:
    loose, tight = (np.array(one["tops_mm"]["strung"]) for one in turned.truth)
    dz = np.array([one["dz_mm"] for one in turned.answers["learnt"]["shape"]]).reshape(22, 6)
    off = 0.25 * dz - (tight - loose)
    assert 1e3 * np.sqrt(np.mean(off**2)) < 1.0


def test_a_plan_goes_by_the_learnt_rod_and_tells_what_it_gave(turned: Turned) -> None:
    plan, found = turned.answers["second plan"], turned.answers["learnt"]
    assert plan["rod"]["learnt"] is True
    assert plan["rod"]["mm_per_turn"] == found["mm_per_turn"]
    since = plan["rod_since"]
    assert (since["plan"], since["turns"]) == ("001.json", 0.25)
    assert since["relief_change_mm"] == found["turns"][0]["relief_change_mm"]
    assert (since["expected_mm"], since["u_expected_mm"]) == (-0.1, 0.025)
    assert "Since plan 001 the rod was tightened by a quarter turn" in turned.said["second plan"]
    assert turned.answers["first plan"]["rod_since"] is None


def test_two_settings_compared_are_told(turned: Turned) -> None:
    part = turned.answers["compared"]["rod"]
    assert (part["turns"], part["learnt"]) == (0.25, True)
    assert "0.25 turn tighter in the first" in turned.said["compared"]
    # the strung tops are right all the same: what the strings and the rod did together
    changes = [one["change_mm"] for one in turned.answers["compared"]["relief"]]
    again = [one["change_mm"] for one in turned.answers["compared again"]["relief"]]
    assert turned.answers["compared again"]["rod"] is None
    rod = turned.answers["learnt"]["turns"][0]["relief_change_mm"]
    assert np.mean(changes) - np.mean(again) == pytest.approx(rod, abs=0.003)


def test_strung_scans_go_before_unstrung_ones(turned: Turned) -> None:
    found = turned.answers["learnt again"]
    assert found["state"] == "strung"
    assert [one["state"] for one in found["states"]] == ["strung", "unstrung"]
    strung, unstrung = (one["mm_per_turn"] for one in found["states"])
    assert unstrung == pytest.approx(strung, rel=0.02)


def test_a_rod_turned_without_a_word(
    turned: Turned, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The strung scan after the turn says nothing of it: it is not learnt from, and told."""
    shutil.copytree(turned.folder / "workshop", tmp_path / "workshop")
    own = replace(turned, folder=tmp_path)
    with h5py.File(tmp_path / "workshop/jobs/one/scans/003-strung.h5", "r+") as file:
        file["entry/scan/rod_turns"][()] = 0.0
    code, out, err = _caught(monkeypatch, own.words("rod one --json"))
    found = json.loads(out)
    assert code == 0
    assert found["state"] == "unstrung"
    (doubt,) = found["doubts"]
    assert doubt.startswith("001-strung.h5 and 003-strung.h5: both are said to be at one setting")
    assert doubt in " ".join(err.split())


@pytest.mark.parametrize("turns", ["3.5", "-90", "nan"])
def test_degrees_are_refused(shop: Any, type_in: Type, turns: str) -> None:
    done = type_in(shop, "scan good --rig {rig} --state strung --rod", turns)
    assert done.code == 2
    assert len(done.faults) == 1
    assert "allowed -3 to 3, turns from where the rod stood" in done.faults[0]
    assert done.out == ""
