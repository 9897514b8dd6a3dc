"""Whether a rig is fit to scan, by how it is today and how it was."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from io import StringIO

import pytest

from calibration.drift.pads import PadStep
from daq.acquire.health.check import RigHealth
from daq.acquire.health.link_health import LinkHealth
from daq.acquire.links.controller import Hello
from daq.documents.health import health_document
from daq.files.rig import RigFile, parse_rig
from daq.reading.baseline import Calibrated, OnPads
from daq.reading.health import Fitness, Today, changes, judge
from daq.text.console import make_console
from daq.text.health import print_health, verdict

NOW = datetime(2026, 7, 1, 12, 0, tzinfo=UTC)
THEN = OnPads(1.5, 400.0, PadStep(0.1700, 0.0001))
TODAY = Today((), 1.6, 400.0, 21.0, OnPads(1.5, 400.0, PadStep(0.1702, 0.0002)))
RIG = """\
name: short-rail
links:
  rig: {port: /dev/fake, baud: 460800, protocol: line}
carriage:
  link: rig
  drive: motor
  mm_per_count: 0.005
  travel_mm: [0, 640]
  speed_mm_s: 25
  cross: {mm_per_count: 0.01}
sensor:
  link: rig
  kind: contact
  mm_per_count: 0.001
  rate_hz: 400
  tip_radius_mm: 1.0
pads:
  - {from_mm: 4, to_mm: 16}
  - {from_mm: 600, to_mm: 614}
"""


def rig_with(old: str = "", new: str = "") -> RigFile:
    assert old in RIG
    return parse_rig(RIG.replace(old, new), "rig.yaml")


@pytest.fixture
def rig() -> RigFile:
    return rig_with()


def made(kind: str, days: int = 3, **more: object) -> Calibrated:
    one = Calibrated(kind, NOW - timedelta(days=days), 20.0, rig_with(), THEN)
    return replace(one, **more)  # type: ignore[arg-type]


@pytest.fixture
def still_health() -> RigHealth:
    """A rig that stands still and well."""
    link = LinkHealth("rig", "/dev/fake", Hello(1, "fake-1", 1000.0), 400.0, 800, 0, 0, 0)
    return RigHealth(
        hello=link.hello,
        asked_rate_hz=400.0,
        rate_hz=400.0,
        samples=800,
        gaps=0,
        lost=0,
        bad_frames=0,
        invalid=0,
        noise_um=1.6,
        pad_every_s=None,
        temperature_c=21.0,
        x_mm=10.0,
        y_mm=None,
        events=(),
        links=(link,),
        clocks=None,
        clock_fault="",
    )


@pytest.fixture
def whole() -> list[Calibrated]:
    """Rail, lag and sensor, three days old."""
    return [made("rail"), made("lag"), made("sensor", rig=None, on_pads=None)]


def said(fitness: Fitness) -> str:
    return verdict("short-rail", fitness)


def test_all_is_well(rig: RigFile, whole: list[Calibrated]) -> None:
    fitness = judge(rig, TODAY, whole, NOW)
    assert said(fitness) == "short-rail is fit to scan."
    assert [(one.kind, one.state, one.age_days) for one in fitness.calibrations] == [
        ("rail", "ok", 3), ("lag", "ok", 3), ("sensor", "ok", 3),
    ]  # fmt: skip
    assert (fitness.noise_then_um, fitness.rate_then_hz) == (1.5, 400.0)
    assert fitness.pads is not None
    assert fitness.pads.change_um == pytest.approx(0.2)


def test_nothing_calibrated_is_fit_but_not_to_the_micrometre(rig: RigFile) -> None:
    fitness = judge(rig, replace(TODAY, on_pads=None), [], NOW)
    assert fitness.fit
    assert said(fitness) == (
        "short-rail is fit to scan, but not to the micrometre: no rail calibration: the carriage's "
        "own bow stands in every height; no lag calibration: the two ways are only laid over one "
        "another, and the backlash is not known; redo: calibrate rail (not calibrated), calibrate "
        "lag (not calibrated)."
    )
    assert [one.state for one in fitness.calibrations] == ["missing"] * 3


def test_links_at_fault(rig: RigFile, whole: list[Calibrated]) -> None:
    fitness = judge(rig, replace(TODAY, faults=("the cable is loose",)), whole, NOW)
    assert not fitness.fit
    assert said(fitness) == "short-rail is not fit to scan: the cable is loose."


@pytest.mark.parametrize(("kind", "days"), [("rail", 91), ("lag", 181), ("sensor", 366)])
def test_calibrations_grow_old(rig: RigFile, kind: str, days: int) -> None:
    others = [made(each) for each in ("rail", "lag", "sensor") if each != kind]
    old = judge(rig, TODAY, [made(kind, days), *others], NOW)
    assert said(old) == (f"short-rail is fit to scan; redo: calibrate {kind} ({days} days old).")
    assert judge(rig, TODAY, [made(kind, days - 1), *others], NOW).redo == ()


def test_noise_that_doubled(rig: RigFile, whole: list[Calibrated]) -> None:
    loud = OnPads(3.1, 400.0, THEN.step)
    fitness = judge(rig, replace(TODAY, on_pads=loud), whole, NOW)
    assert not fitness.fit
    assert "noise of one reading 3.1 µm, 1.5 µm when calibrated" in said(fitness)
    still = judge(rig, replace(TODAY, on_pads=None, noise_um=3.1), whole, NOW)
    assert not still.fit


def test_a_pad_that_moved_is_named(rig: RigFile, whole: list[Calibrated]) -> None:
    moved = OnPads(1.5, 400.0, PadStep(0.1840, 0.0002))
    fitness = judge(rig, replace(TODAY, on_pads=moved), whole, NOW)
    assert not fitness.fit
    assert "the last pad stands +14.0 µm otherwise over the first" in said(fitness)
    assert fitness.redo == ("calibrate rail, once what moved is fast again",)


def test_a_change_within_its_uncertainty_is_none(rig: RigFile, whole: list[Calibrated]) -> None:
    unsure = OnPads(1.5, 400.0, PadStep(0.1740, 0.0020))
    assert judge(rig, replace(TODAY, on_pads=unsure), whole, NOW).fit


def test_another_rate_asks_for_the_lag(rig: RigFile, whole: list[Calibrated]) -> None:
    fitness = judge(rig, replace(TODAY, rate_hz=500.0), whole, NOW)
    assert fitness.redo == ("calibrate lag (500 Hz, 400 Hz when calibrated)",)


def test_a_room_that_is_colder(rig: RigFile, whole: list[Calibrated]) -> None:
    fitness = judge(rig, replace(TODAY, temperature_c=14.0), whole, NOW)
    assert fitness.fit
    assert fitness.redo[0].startswith("calibrate rail (the rig is 6 °C colder than then, which")
    assert "by 153 µm" in fitness.redo[0]
    assert judge(rig, replace(TODAY, temperature_c=None), whole, NOW).redo == ()


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("mm_per_count: 0.005", "mm_per_count: 0.006", "mm_per_count was 0.005, is 0.006"),
        ("tip_radius_mm: 1.0", "tip_radius_mm: 1.5", "sensor.tip_radius_mm was 1, is 1.5"),
        ("from_mm: 600", "from_mm: 602", "pads was 4 to 16, 600 to 614, is 4 to 16, 602 to 614"),
        ("  cross: {mm_per_count: 0.01}\n", "", "cross.mm_per_count was 0.01, is none"),
    ],
)
def test_calibrations_of_another_rig_file(
    whole: list[Calibrated], old: str, new: str, says: str
) -> None:
    now = rig_with(old, new)
    (line,) = changes(rig_with(), now)
    assert says in line
    fitness = judge(now, TODAY, whole, NOW)
    assert not fitness.fit
    assert f"the rail calibration is of another rig: {line}" in fitness.faults
    assert fitness.calibrations[0].state == "changed"


def test_another_port_or_speed_is_the_same_rig(whole: list[Calibrated]) -> None:
    now = parse_rig(
        RIG.replace("/dev/fake", "/dev/ttyUSB3").replace("speed_mm_s: 25", "speed_mm_s: 10"), "r"
    )
    assert judge(now, TODAY, whole, NOW).fit


def test_a_damaged_document_is_not_passed_over(rig: RigFile, whole: list[Calibrated]) -> None:
    broken = Calibrated("lag", None, None, None, None, "lag.json: found no group of keys")
    fitness = judge(rig, TODAY, [whole[0], broken, whole[2]], NOW)
    assert not fitness.fit
    assert "the lag calibration cannot be used: lag.json" in said(fitness)
    assert "calibrate lag (damaged)" in fitness.redo


def test_the_document_says_it_all(
    rig: RigFile, whole: list[Calibrated], still_health: RigHealth
) -> None:
    document = health_document("short-rail", still_health, judge(rig, TODAY, whole, NOW))
    assert document["fit"] is True
    assert document["redo"] == []
    assert document["pads"] == {"change_um": 0.2, "u_change_um": 0.22, "moved": False}
    assert document["calibrations"][0] == {
        "kind": "rail",
        "made": "2026-06-28T12:00:00+00:00",
        "age_days": 3,
        "temperature_c": 20.0,
        "state": "ok",
        "why": "",
    }


@pytest.mark.parametrize(("every_s", "says"), [(40.0, "takes 23 s"), (12.0, "or go at 49 mm/s")])
def test_a_pass_longer_than_the_sensor_stays_still(
    rig: RigFile, whole: list[Calibrated], still_health: RigHealth, every_s: float, says: str
) -> None:
    out = StringIO()
    health = replace(still_health, pad_every_s=every_s)
    print_health(make_console(out, width=400), rig, health, judge(rig, TODAY, whole, NOW))
    assert f"come back to a pad every {every_s:.0f} s" in out.getvalue()
    assert says in out.getvalue()
    assert "rail: calibrated 3 days ago at 20.0 °C" in out.getvalue()
