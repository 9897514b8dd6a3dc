"""A scan whose samples came in binary, on one port and on two, against one in lines."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import h5py
import numpy as np
import pytest

from daq.cli.main import main
from daq.demo.bench import software_rig
from daq.record.journal_format import Kind
from daq.record.raw import records_of

Type = Callable[..., Any]
#: Four times as quick as real time at 100 mm/s: a scan of ten passes takes a quarter of a minute.
FAULTS = "noise_um=1.5,bad_frame_one_in=500,clock_ppm=40,rate_hz=800,speed_mm_s=100"
RIGS = {
    "line": (),
    "binary": ("--protocol", "binary"),
    "two": ("--links", "2", "--sensor-protocol", "binary", "--pace", "4"),
}


def words(folder: Path, line: str) -> list[str]:
    return ["--workshop", str(folder / "workshop"), *line.format(folder=folder).split()]


TWO = pytest.param("two", marks=pytest.mark.campaign)
Scanned = Callable[[str], Path]


@pytest.fixture(scope="module")
def scanned(tmp_path_factory: pytest.TempPathFactory) -> Scanned:
    """The same neck on each rig, scanned once; by rig, the folder."""

    @cache
    def scanned(name: str) -> Path:
        folder = tmp_path_factory.mktemp(name)
        with software_rig(5, "--faults", "none", "--set", FAULTS, *RIGS[name]) as bench:
            bench.do("files", folder=str(folder))
            bench.do("place", what="neck")
            assert main(words(folder, "job new one --instrument {folder}/instrument.yaml")) == 0
            assert main(words(folder, "scan one --rig {folder}/rig.yaml --state strung")) == 0
        return folder

    return scanned


def scan_of(folder: Path) -> Path:
    return folder / "workshop/jobs/one/scans/001-strung.h5"


def tops(folder: Path, capfd: pytest.CaptureFixture[str]) -> tuple[np.ndarray, np.ndarray]:
    """Heights and their uncertainties, float[frets, strings]."""
    capfd.readouterr()
    assert main(words(folder, "tops one --state strung --json")) == 0
    frets = json.loads(capfd.readouterr().out)["frets"]
    shape = (-1, max(each["string"] for each in frets))
    columns = ([each[key] for each in frets] for key in ("top_mm", "u_top_mm"))
    top_mm, u_mm = (np.array(column, dtype=float).reshape(shape) for column in columns)
    return top_mm, u_mm


@pytest.mark.parametrize("name", ["binary", TWO])
def test_the_tops_are_those_of_the_line_protocol(
    scanned: Scanned, name: str, capfd: pytest.CaptureFixture[str]
) -> None:
    (in_lines, u_lines), (in_binary, u_binary) = (
        tops(scanned(each), capfd) for each in ("line", name)
    )
    apart = (in_binary - in_lines) / np.hypot(u_lines, u_binary)
    assert np.isfinite(apart).all()
    assert np.sqrt(np.mean(apart**2)) < 1.0
    assert np.abs(in_binary - in_lines).max() < 0.004


@pytest.mark.parametrize("name", ["binary", TWO])
def test_its_replay_is_identical(scanned: Scanned, name: str, tmp_path: Path) -> None:
    original, again = scan_of(scanned(name)), tmp_path / "again.h5"
    assert main(words(scanned(name), f"replay {original} --to {again}")) == 0
    before, after = content(original), content(again)
    assert before.keys() == after.keys()
    for key, value in before.items():
        np.testing.assert_array_equal(value, after[key], err_msg=key)


def content(path: Path) -> dict[str, Any]:
    found: dict[str, Any] = {}
    with h5py.File(path) as file:
        file.visititems(
            lambda name, item: (
                found.update({name: item[()]}) if isinstance(item, h5py.Dataset) else None
            )
        )
    return found


@pytest.mark.parametrize(
    ("name", "start", "least"),
    [
        ("binary", b"\xd6\xb5\xc3", 10_000),
        pytest.param("two", b"\xd6\xb5\xf0", 10_000, marks=pytest.mark.campaign),
        pytest.param("two", b"\nS,", 10_000, marks=pytest.mark.campaign),
    ],
)
def test_the_readings_came_in_binary(scanned: Scanned, name: str, start: bytes, least: int) -> None:
    assert count(scan_of(scanned(name)), start) > least
    assert count(scan_of(scanned("line")), b"\xd6\xb5") == 0


def count(path: Path, start: bytes) -> int:
    """How often these bytes came over all links."""
    records = records_of(path)
    return b"".join(each.payload for each in records if each.kind is Kind.RX).count(start)
