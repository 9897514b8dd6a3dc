"""Gauges under the tip, then a pin across the rail: typed, on a rig whose gain, hysteresis and
tip are not what its file says."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from daq.cli.desk import _Asker
from daq.cli.main import main
from daq.demo.bench import Bench, software_rig

Answer = dict[str, Any]


@contextmanager
def rig_with(**faults: float) -> Iterator[Bench]:
    said = ",".join(f"{key}={value}" for key, value in faults.items())
    with software_rig(3, "--set", said) as bench:
        yield bench


@pytest.fixture
def at_the_bench(monkeypatch: pytest.MonkeyPatch) -> Callable[[Bench], None]:
    """Does with gauges what the program asks for."""

    def at_the_bench(bench: Bench) -> None:
        def do(self: _Asker, what: str) -> None:
            gauge = re.match(r"Put the (\S+) mm gauge under the tip", what)
            assert gauge is not None, what
            way = "below" if "climbs" in what else "above"
            bench.do("place", what="gauge", mm=float(gauge[1]), tip_from=way)

        monkeypatch.setattr(_Asker, "__call__", do)

    return at_the_bench


@pytest.fixture
def answer(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> Callable[[str], tuple[int, Answer, str]]:
    """Types a calibration; gives its code, its JSON document and what it said."""

    def answer(line: str) -> tuple[int, Answer, str]:
        capfd.readouterr()
        where = ["--workshop", str(tmp_path / "shop"), "calibrate"]
        words = [word.format(rig=tmp_path / "rig.yaml") for word in line.split()]
        code = main([*where, *words, "--json", "--yes"])
        out, err = capfd.readouterr()
        return code, json.loads(out) if out else {}, err

    return answer


def test_sensor_and_tip_are_found_as_they_are(
    tmp_path: Path,
    at_the_bench: Callable[[Bench], None],
    answer: Callable[[str], tuple[int, Answer, str]],
) -> None:
    off = {"sensor_gain_percent": 0.4, "sensor_hysteresis_um": 3.0, "tip_radius_off_mm": 0.025}
    with rig_with(**off) as bench:
        bench.do("files", folder=str(tmp_path))
        at_the_bench(bench)
        code, sensor, _ = answer("sensor --rig {rig} --gauges 0:0.1,1,2,3,4 --gauge-um 0.1")
        assert code == 0
        bench.do("place", what="pin", mm=3.0)
        code, probe, err = answer("probe --rig {rig} --pin-mm 3 --pin-um 0.5")
        assert code == 0
    assert sensor["order"] == 1
    ends = (sensor["readings"][0], sensor["readings"][4])
    rise = (ends[1]["reading_mm"] - ends[0]["reading_mm"]) / 4.0
    # what it drifts by on the way up is in the readings, not in the curve
    assert rise == pytest.approx(1.004, abs=1e-3)
    loop = sensor["hysteresis"]
    assert loop["seen"]
    assert loop["falling_less_rising_um"] == pytest.approx(3.0, abs=0.4)
    assert loop["drift_um_min"] == pytest.approx(8.0, abs=4.0)
    assert probe["tip_radius_mm"] == pytest.approx(1.025, abs=2.5 * probe["u_tip_radius_mm"])
    assert probe["u_tip_radius_mm"] < 0.005
    assert not probe["agrees"]
    assert "is off by" in err


def test_a_tip_that_skips_is_named_and_nothing_is_kept(
    tmp_path: Path, answer: Callable[[str], tuple[int, Answer, str]]
) -> None:
    with rig_with(plunger_fall_mm_s=5.0) as bench:
        bench.do("files", folder=str(tmp_path))
        bench.do("place", what="pin", mm=3.0)
        code, _, err = answer("probe --rig {rig} --pin-mm 3")
    assert code == 2
    assert "the tip left the surface after the crest" in err
    assert "nothing was kept" in err
    assert not list((tmp_path / "shop").rglob("probe-*.json"))


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("probe --rig {rig}", "allowed one of --pin-mm DIAMETER and --edge"),
        ("probe --rig {rig} --pin-mm 3 --edge", "allowed one of --pin-mm DIAMETER and --edge"),
        ("probe --rig {rig} --pin-mm 0.1", "--pin-mm: found 0.1; allowed 0.5 to 50 mm"),
        ("probe --rig {rig} --edge --edge-um nan", "--edge-um: found nan; allowed 0 to 100 µm"),
        ("sensor --rig {rig} --gauges 1,1,1", "--gauges: found 1 mm twice"),
        ("sensor --rig {rig} --gauges 0,1,0.5", "--gauges: found 0.5 mm after 1 mm, out of order"),
    ],
)
def test_slips_are_one_line_before_anything_moves(
    line: str, says: str, answer: Callable[[str], tuple[int, Answer, str]]
) -> None:
    code, _, err = answer(line)
    assert code == 2
    assert says in err
    assert len(err.splitlines()) == 1
