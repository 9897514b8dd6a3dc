"""One scan or ten: scans of a state in a row are read as one neck."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from daq.cli.main import main
from daq.demo.bench import software_rig

Type = Callable[..., Any]
#: Filed off everywhere between the third scan and the fourth, µm.
FILED_UM = 25.0


@dataclass(frozen=True)
class Measured:
    """A workshop with four unstrung scans of job `one`, the last after a file."""

    folder: Path
    tops_mm: np.ndarray

    def words(self, line: str) -> list[str]:
        return ["--workshop", str(self.folder / "workshop"), *line.split()]


@pytest.fixture(scope="module")
def measured(tmp_path_factory: pytest.TempPathFactory) -> Measured:
    folder = tmp_path_factory.mktemp("repeated")
    with software_rig(12) as bench:
        bench.do("files", folder=str(folder))
        shop = Measured(folder, np.empty(0))
        rig = folder / "rig.yaml"
        bench.do("place", what="straightedge")
        assert main(shop.words(f"calibrate rail --rig {rig} --reference straightedge")) == 0
        assert main(shop.words(f"job new one --instrument {folder / 'instrument.yaml'}")) == 0
        bench.do("state", state="unstrung")
        for _ in range(3):
            bench.do("place", what="neck")
            assert main(shop.words(f"scan one --rig {rig} --state unstrung")) == 0
        truth = np.array(bench.do("truth")["tops_mm"]["unstrung"])
        frets, strings = truth.shape
        cuts = [{"fret": f + 1, "string": s + 1, "remove_um": FILED_UM}
                for f in range(frets) for s in range(strings)]  # fmt: skip
        bench.do("cut", cuts=cuts)
        assert main(shop.words(f"scan one --rig {rig} --state unstrung")) == 0
    return Measured(folder, truth)


@pytest.fixture
def job_with(measured: Measured, tmp_path: Path) -> Callable[[str], Path]:
    """A workshop of a test's own, whose job `one` has these of the scans; their folder."""

    def job_with(numbers: str) -> Path:
        # not where `shop` is: its scan files are shared with all the other tests
        own = tmp_path / f"repeated-{numbers}"
        shutil.copytree(measured.folder / "workshop", own)
        scans = own / "jobs/one/scans"
        for path in scans.iterdir():
            if path.name[2] not in numbers:
                path.unlink()
        return scans

    return job_with


@pytest.fixture
def tops(capfd: pytest.CaptureFixture[str]) -> Callable[[Path], tuple[dict[str, Any], str]]:
    """`tops --json` of the job whose scans lie there, and what people were told."""

    def tops(scans: Path) -> tuple[dict[str, Any], str]:
        capfd.readouterr()
        workshop = str(scans.parents[2])
        assert main(["--workshop", workshop, "tops", "one", "--state", "unstrung", "--json"]) == 0
        out, err = capfd.readouterr()
        return json.loads(out), " ".join(err.split())

    return tops


def column(found: dict[str, Any], key: str) -> np.ndarray:
    return np.array([entry[key] for entry in found["frets"]], dtype=float)


def error_um(found: dict[str, Any], true_mm: np.ndarray) -> float:
    """Of the tops as a shape, rms; x along, the string's number across."""
    off = column(found, "top_mm") - true_mm.ravel()
    place = np.column_stack([np.ones(off.size), column(found, "x_mm"), column(found, "string")])
    return float(1e3 * np.std(off - place @ np.linalg.lstsq(place, off, rcond=None)[0]))


def test_three_scans_are_better_than_one(
    measured: Measured, job_with: Callable[[str], Path], tops: Callable[..., Any]
) -> None:
    alone = [tops(job_with(number))[0] for number in "123"]
    together, said = tops(job_with("123"))
    names = [f"00{number}-unstrung.h5" for number in "123"]
    assert "unstrung: 3 scans combined: 001, 002 and 003." in said
    assert together["repeats"] == {"scans": names, "left_out": [], "outliers": []}
    assert [one["repeats"]["scans"] for one in alone] == [[name] for name in names]
    assert together["scan"] == names[-1]
    singles = [error_um(one, measured.tops_mm) for one in alone]
    assert error_um(together, measured.tops_mm) < np.mean(singles)
    u = [np.median(column(one, "u_top_mm")) for one in alone]
    assert np.median(column(together, "u_top_mm")) < 0.95 * min(u)
    off = column(together, "top_mm") - column(alone[-1], "top_mm")
    assert np.max(np.abs(off)) < 0.006


def test_scans_from_before_a_file_are_left_out(
    job_with: Callable[[str], Path], tops: Callable[..., Any]
) -> None:
    found, said = tops(job_with("1234"))
    assert found["repeats"]["scans"] == ["004-unstrung.h5"]
    left_out = found["repeats"]["left_out"]
    assert [one["scan"] for one in left_out] == [f"00{number}-unstrung.h5" for number in "123"]
    assert all("metal came off since" in one["why"] for one in left_out)
    assert "Scan 002 is left out:" in said
    assert found["frets"] == tops(job_with("4"))[0]["frets"]


def test_an_earlier_scan_that_cannot_be_read(
    job_with: Callable[[str], Path], tops: Callable[..., Any]
) -> None:
    scans = job_with("123")
    (scans / "002-unstrung.h5").write_bytes(b"no scan at all")
    found, said = tops(scans)
    assert found["repeats"]["scans"] == ["001-unstrung.h5", "003-unstrung.h5"]
    (one,) = found["repeats"]["left_out"]
    assert one["scan"] == "002-unstrung.h5"
    assert "002-unstrung.h5" not in one["why"]
    assert "Scan 002 is left out:" in said


def test_two_scans_of_two_necks(
    shop: Any, job_with: Callable[[str], Path], tops: Callable[..., Any]
) -> None:
    """The wrong instrument on the bench, once."""
    scans = job_with("3")
    shutil.copy(shop.scan("002-unstrung"), scans / "001-unstrung.h5")
    shutil.copy(shop.instrument, scans.parent / "instrument.yaml")
    found, _ = tops(scans)
    assert found["repeats"]["scans"] == ["003-unstrung.h5"]
    assert len(found["repeats"]["left_out"]) == 1


@pytest.mark.campaign
def test_the_whole_job_tells_what_was_combined(shop: Any, type_in: Type) -> None:
    """The very same scan twice: nothing scatters, and nothing is odd about that."""
    shutil.copy(shop.scan("002-unstrung"), shop.scan("003-unstrung"))
    pair = ["002-unstrung.h5", "003-unstrung.h5"]
    compared = json.loads(type_in(shop, "compare good --json").out)["repeats"]
    assert compared["strung"]["scans"] == ["001-strung.h5"]
    assert compared["unstrung"] == {"scans": pair, "left_out": [], "outliers": []}
    planned = type_in(shop, "plan good")
    assert "unstrung: 2 scans combined: 002 and 003." in planned.out
    plan = json.loads((shop.job("good") / "plans/001.json").read_text())
    assert plan["repeats"]["unstrung"]["scans"] == pair
    assert plan["scans"]["unstrung"] == pair[-1]
    for number in (4, 5):
        shutil.copy(shop.scan("002-unstrung"), shop.scan(f"00{number}-unstrung"))
    verified = json.loads(type_in(shop, "verify good --json").out)["repeats"]
    assert verified["before"]["scans"] == pair
    assert verified["after"]["scans"] == ["004-unstrung.h5", "005-unstrung.h5"]
    assert type_in(shop, "report good").code == 0
    page = (shop.job("good") / "report.html").read_text(encoding="utf-8")
    assert "2 scans combined: 002 and 003" in page
