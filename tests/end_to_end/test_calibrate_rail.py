"""The rail by every way, typed as a person types it, on simulated rigs with bent straightedges."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from daq.cli.main import main
from daq.demo.bench import Bench, software_rig
from daq.reading.rail import rail_of

Order = dict[str, Any]
EDGE_UM = 4.0
OVER = {"what": "straightedge", "turned": "over"}
NECK = {"what": "neck"}


@contextmanager
def simulated(*words: str) -> Iterator[Bench]:
    """Fewer readings than usual, a straightedge that is bent, and a rail that rolls."""
    faults = f"rate_hz=150,straightedge_um={EDGE_UM},rail_roll_urad=150,noise_um=1,thermometer=1"
    with software_rig(3, "--set", faults, *words) as bench:
        yield bench


@pytest.fixture(scope="module")
def contact() -> Iterator[Bench]:
    with simulated() as bench:
        yield bench


@pytest.fixture(scope="module")
def optical() -> Iterator[Bench]:
    with simulated("--sensor", "optical") as bench:
        yield bench


class Hands:
    """The person at the rig: does the next order of a list at every question."""

    def __init__(
        self, folder: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
    ) -> None:
        self.folder, self.asked = folder, []  # type: ignore[var-annotated]
        self._monkeypatch, self._capfd = monkeypatch, capfd

    def calibrate(self, bench: Bench, line: str, *orders: Order) -> tuple[int, str, str]:
        """Exit code, standard output and the line of fault, if there is one."""
        bench.do("files", folder=str(self.folder))
        coming = iter(orders)

        def ask(_: object, what: str) -> None:
            self.asked.append(what)
            bench.do("place", **next(coming))

        self._monkeypatch.setattr("daq.cli.desk._Asker.__call__", ask)
        self._capfd.readouterr()
        words = line.format(instrument=self.folder / "instrument.yaml").split()
        rig = ["--rig", str(self.folder / "rig.yaml")]
        code = main(["--workshop", str(self.folder), "calibrate", "rail", *rig, *words])
        out, err = self._capfd.readouterr()
        assert next(coming, None) is None, "it asked less often than there was to do"
        faults = [one for one in err.splitlines() if one.startswith("neckform: ")]
        return code, out, " ".join(faults)

    def maps(self) -> list[Path]:
        return sorted((self.folder / "calibrations/simulated-rail").glob("rail-*.json"))


@pytest.fixture
def hands(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> Hands:
    return Hands(tmp_path, monkeypatch, capfd)


def off_um(path: str, truth: Order, blind: int = 1, y_mm: float = 0.0) -> float:
    """Rms between the kept map and the simulated rail, polynomials up to `blind` apart."""
    document = json.loads(Path(path).read_text(encoding="utf-8"))
    x = np.array(document["x_mm"])[4:-4]
    value, _ = rail_of(document).at(x, np.full(x.size, y_mm))
    really = x * (1.0 + 1e-2 * truth["screw_percent"])
    rail, roll = (CubicSpline(truth["rail_x_mm"], truth[key]) for key in ("rail_um", "roll_urad"))
    off = 1e3 * value - rail(really) - 1e-3 * y_mm * roll(really)
    return float(np.std(off - np.polyval(np.polyfit(x, off, blind), x)))


def test_a_bent_straightedge_reversed(contact: Bench, hands: Hands) -> None:
    contact.do("place", what="straightedge")
    line = f"--straightedge-um {EDGE_UM} --celsius 21 --json"
    code, out, _ = hands.calibrate(contact, line)
    plain = json.loads(out)
    assert (code, plain["method"], plain["celsius"]) == (0, "straightedge", 21.0)
    code, out, _ = hands.calibrate(contact, f"--reference reversed --turn over {line}", OVER)
    found = json.loads(out)
    assert code == 0
    assert found["method"] == "straightedge reversed (over)"
    assert found["stands_without"].startswith("straightedge of ")
    truth = contact.do("truth")
    assert off_um(plain["file"], truth) > 2.0
    assert off_um(found["file"], truth) < 0.5
    assert "read the same face from its other side" in hands.asked[0]


def test_one_that_was_not_turned(contact: Bench, hands: Hands) -> None:
    contact.do("place", what="straightedge")
    line = f"--reference reversed --turn over --straightedge-um {EDGE_UM}"
    code, _, fault = hands.calibrate(contact, line, {"what": "straightedge"})
    assert code == 2
    assert "the reversed scan was not reversed" in fault
    assert fault.endswith("no map was kept")
    assert hands.maps() == []


def test_a_neck_at_several_places_joined_to_the_straightedge(contact: Bench, hands: Hands) -> None:
    contact.do("state", state="unstrung")
    contact.do("place", what="straightedge")
    assert hands.calibrate(contact, f"--straightedge-um {EDGE_UM}")[0] == 0
    places = [{"what": "neck", "shift_mm": d} for d in (-20.0, 3.0, 48.0)]
    line = "--reference offsets --placements 3 --join --json"
    code, out, _ = hands.calibrate(contact, line, *places)
    found = json.loads(out)
    assert code == 0
    assert found["method"] == "straightedge + several offsets"
    assert [one["method"] for one in found["agreement"]] == ["straightedge", "several offsets"]
    assert all(one["agrees"] for one in found["agreement"])
    truth = contact.do("truth")
    # the bow is the straightedge's, all else the neck tells better
    assert off_um(found["file"], truth, blind=2) < 1.0
    assert off_um(found["file"], truth) < 2.0 * EDGE_UM
    assert hands.asked[1].startswith("Placement 2 of 3: move it along the rail, away from")


@pytest.mark.parametrize(
    ("second", "says"),
    [
        (
            {"what": "neck", "shift_mm": -18.0},
            "placement 2 lies [0-3].* mm from placement 1; allowed",
        ),
        ({"what": "straightedge"}, "placement 2 and placement 1 do not look like one object"),
    ],
)
def test_a_placement_that_will_not_do(
    second: Order, says: str, contact: Bench, hands: Hands
) -> None:
    first = {"what": "neck", "shift_mm": -20.0}
    code, _, fault = hands.calibrate(contact, "--reference offsets", first, second)
    assert code == 2
    assert re.search(says, fault), fault
    assert hands.maps() == []


def test_a_neck_is_no_straightedge(contact: Bench, hands: Hands) -> None:
    contact.do("place", **NECK)
    code, _, fault = hands.calibrate(contact, "--reference straightedge")
    assert code == 2
    assert "is a neck on the rig?; no map was kept" in fault
    assert hands.maps() == []


def test_rows_show_how_the_rail_rolls(contact: Bench, hands: Hands) -> None:
    rows = [{"what": "straightedge", "y_mm": y} for y in (-20.0, 0.0, 20.0)]
    line = f"--rows -20,0,20 --straightedge-um {EDGE_UM} --json"
    code, out, _ = hands.calibrate(contact, line, *rows)
    found = json.loads(out)
    assert code == 0
    assert found["across"]["from_y_mm"] == -20.0
    # the rig measures its own temperature
    assert found["celsius"] == pytest.approx(20.0, abs=0.5)
    truth = contact.do("truth")
    middle, side = (off_um(found["file"], truth, y_mm=y) for y in (0.0, 15.0))
    # the bent straightedge is in both alike: the roll itself is known far better
    assert abs(side - middle) < 0.3
    assert "lay the straightedge along the rail at y = -20 mm" in hands.asked[0]


def test_strings_and_a_straightedge_that_is_worse_than_it_says(
    optical: Bench, hands: Hands
) -> None:
    optical.do("state", state="strung")
    line = "--reference strings --instrument {instrument} --strings 2,3 --json"
    code, out, _ = hands.calibrate(optical, line, NECK)
    found = json.loads(out)
    assert code == 0
    assert found["measured"]["strings"] == [2, 3]
    assert "the rail's roll" in found["unseen"][-1]
    # strings 2 and 3 lie to one side, where the roll of this rail is worth up to 2 µm
    assert off_um(found["file"], optical.do("truth")) < 3.0
    optical.do("place", what="straightedge")
    code, _, fault = hands.calibrate(optical, "--join --straightedge-um 0.1")
    assert code == 2
    assert "--join: strings and straightedge disagree: " in fault
    assert str(hands.maps()[0]) in fault
    assert len(hands.maps()) == 1
    code, out, _ = hands.calibrate(optical, f"--join --straightedge-um {EDGE_UM} --json")
    assert code == 0
    assert json.loads(out)["method"] == "strings + straightedge"


def test_strings_that_are_not_there(optical: Bench, hands: Hands) -> None:
    optical.do("state", state="unstrung")
    line = "--reference strings --instrument {instrument} --strings 3"
    code, _, fault = hands.calibrate(optical, line, NECK)
    assert code == 2
    assert "string 3: " in fault
    assert hands.maps() == []


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("--reference strings --instrument {instrument}", "found a contact sensor on simulated"),
        ("--reference offsets --join", "--join: found no rail map of simulated-rail to join"),
    ],
)
def test_refused_before_anything_moves(line: str, says: str, contact: Bench, hands: Hands) -> None:
    code, _, fault = hands.calibrate(contact, line)
    assert code == 2
    assert says in fault
    assert hands.asked == []
