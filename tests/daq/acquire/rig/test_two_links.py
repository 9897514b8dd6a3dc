"""Sensor and carriage on a port each: who is asked what, whose silence is whose, what is kept."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from daq.acquire.health.check import STILL_S
from daq.acquire.links.controller import Heard
from daq.acquire.links.rig_faults import RigRefused, RigStopped
from daq.acquire.passes import hand
from daq.acquire.passes.lanes import LanePlan, both_ways
from daq.acquire.passes.progress import NoProgress
from daq.acquire.rig.rig import Rig
from daq.acquire.rig.session import rig_session
from daq.acquire.use import OwnRig
from daq.errors import InputError, RigError
from daq.files.rig import RigFile, parse_rig
from daq.link import faults
from daq.link.faults import LinkLost
from daq.record.journal import read_journal
from daq.record.journal_format import Kind
from daq.record.notes import ScanBegin
from daq.record.raw import records_of
from daq.record.recover import recover
from daq.record.scan import Scan, read_scan
from daq.record.scanfile import build_scan
from daq.wire.line import encode

OpenPair = Callable[[Any], Rig]
LANE = LanePlan(1, 2.5, "between", (5.0, 0.0), (93.0, 0.0), False)
PASSES = both_ways([LANE], 25.0)


@pytest.fixture
def begin(pair_text: str) -> ScanBegin:
    started = "2025-01-02T03:04:05+01:00"
    return ScanBegin("a1", "scan", "strung", "", "", started, "neckform 0", pair_text, None, {})


@pytest.fixture
def record(pair_file: RigFile, begin: ScanBegin, tmp_path: Path) -> Callable[[Any], Scan]:
    def record(pair: Any, ask: Callable[[str], None] = lambda question: None) -> Scan:
        rig = OwnRig(pair_file, pair.open, clock=pair.clock)
        return read_scan(rig.record(begin, PASSES, tmp_path / "a.h5", NoProgress(), ask))

    return record


def worst_um(scan: Scan, row: int) -> float:
    """The sensor of the pair reads its own place in micrometres."""
    samples = scan.passes[row].samples
    return float(np.max(np.abs(5.0 * samples.x - samples.raw)))


def test_each_is_greeted_and_only_the_carriages_moves(fake_pair: Any, open_pair: OpenPair) -> None:
    rig = open_pair(fake_pair)
    rig.hello()
    assert rig.hellos[0].device_id == "fake-probe"
    assert [hello.device_id for hello in rig.hellos] == ["fake-probe", "fake-axis"]
    rig.home()
    rig.stream(400)
    rig.move(10.0, None, 25.0)
    rig.stop()
    rig.halt()
    assert fake_pair.sensor.commands == ["H", "G,400", "X"]
    assert fake_pair.carriage.commands == ["H", "O", "G,400", "M,2000,,5000", "X", "K"]


def test_what_is_heard_says_which_link_it_came_by(
    fake_pair: Any, open_pair: OpenPair, sink: Any
) -> None:
    rig = open_pair(fake_pair)
    pieces: list[Heard] = []
    with rig.listening(pieces.append):
        rig.stream(400)
        rig.stop()
    assert {(heard.link, heard.reads, heard.drives) for heard in pieces} == {
        (0, True, False),
        (1, False, True),
    }
    assert sink.links == {0, 1}
    assert rig.place.x_mm == 0.0


def test_two_controllers_of_one_name(fake_pair: Any, open_pair: OpenPair) -> None:
    fake_pair.sensor.name = "axis"
    with pytest.raises(RigError) as caught:
        open_pair(fake_pair).hello()
    assert str(caught.value).startswith(
        "the sensor's controller on /dev/probe (link probe) and the carriage's controller on "
        "/dev/axis (link axis) both say they are fake-axis: give each controller an id of its own"
    )


@pytest.mark.parametrize("name", ["probe", "axis"])
def test_a_link_that_goes_silent_is_named(name: str, fake_pair: Any, open_pair: OpenPair) -> None:
    part = "sensor" if name == "probe" else "carriage"
    fake_pair.silent = {name}
    rig = open_pair(fake_pair)
    rig.stream(400)
    fake_pair.stand_still(0.02)

    def go_on_with_the_other() -> None:
        for _ in rig.pump():
            fake_pair.stand_still(0.02)

    with pytest.raises(RigError) as caught:
        go_on_with_the_other()
    assert str(caught.value).startswith(
        f"the {part}'s controller on /dev/{name} (link {name}) did not go on sending: nothing came"
    )


def test_a_refusal_names_its_link(fake_pair: Any, open_pair: OpenPair) -> None:
    fake_pair.sensor.on["G"] = lambda end, fields: end.say(encode.refuse("G", "too fast"))
    with pytest.raises(
        RigRefused, match=r"the sensor's .*link probe\) refused streaming: too fast"
    ):
        open_pair(fake_pair).stream(400)


def test_after_the_sensors_cable_the_carriage_can_still_be_halted(
    fake_pair: Any, open_pair: OpenPair
) -> None:
    def come_loose(end: Any, fields: list[str]) -> None:
        end.say(encode.accept("M"))
        fake_pair.sensor.pull()

    fake_pair.carriage.on["M"] = come_loose
    rig = open_pair(fake_pair)
    rig.stream(400)
    with pytest.raises(RigError, match="came loose"):
        rig.move(20.0, None, 25.0)
    rig.halt()
    with pytest.raises(RigError, match="came loose"):
        rig.stop()
    assert fake_pair.carriage.commands[-2:] == ["K", "X"]


def test_the_sensors_controller_starting_anew_stops_a_pass(
    fake_pair: Any, open_pair: OpenPair
) -> None:
    def reset(end: Any, fields: list[str]) -> None:
        end.say(encode.accept("M"))
        fake_pair.sensor.say(fake_pair.sensor.event("reset"))

    fake_pair.carriage.on["M"] = reset
    rig = open_pair(fake_pair)
    rig.stream(400)
    with pytest.raises(RigStopped, match="the sensor's controller reset itself"):
        rig.move(20.0, None, 25.0)
    assert not rig.lost_its_place


def test_a_scan_gives_every_reading_its_place(fake_pair: Any, record: Callable[..., Scan]) -> None:
    scan = record(fake_pair)
    assert [(one.direction, one.good, one.why) for one in scan.passes] == [
        (1, True, ()),
        (-1, True, ()),
    ]
    assert fake_pair.opened == ["/dev/probe", "/dev/axis"]
    for row in (0, 1):
        samples = scan.passes[row].samples
        assert len(samples) > 1400
        assert np.all(samples.temp == 2150)
        assert np.all(samples.y == 0)
        # half a count of 5 µm from rounding, a little more from a count rounded twice
        assert worst_um(scan, row) < 8.0
    assert scan.clocks is not None
    assert scan.clocks.travel_jitter_um(25.0) < 3.0
    rates = [fits[0].rate for fits in (scan.clocks.sensor, scan.clocks.carriage)]
    np.testing.assert_allclose(rates, [1 - 40e-6, 1 + 20e-6], atol=15e-6)


def test_the_bytes_of_both_links_are_in_the_file_and_replay_to_the_same(
    fake_pair: Any, record: Callable[..., Scan], tmp_path: Path
) -> None:
    scan = record(fake_pair)
    records = list(records_of(scan.path))
    assert {r.link for r in records if r.kind is Kind.RX} == {0, 1}
    build_scan(iter(records), tmp_path / "b.h5")
    assert list(records_of(tmp_path / "b.h5")) == records
    again = read_scan(tmp_path / "b.h5")
    assert again.passes == scan.passes


def test_lost_frames_are_told_of_the_link_that_lost_them(
    fake_pair: Any, record: Callable[..., Scan]
) -> None:
    fake_pair.lost = {"axis": 3}
    with pytest.raises(RigError) as caught:
        record(fake_pair)
    said = r"the carriage's controller on /dev/axis \(link axis\): \d+ of \d+ samples lost"
    assert re.search(said, str(caught.value))
    assert "link probe" not in str(caught.value)


def test_a_hole_in_the_carriages_samples_is_a_hole(
    fake_pair: Any, record: Callable[..., Scan]
) -> None:
    whole = fake_pair.carriage.frame

    def without_some(host_s: float, x_mm: float) -> bytes:
        frame = whole(host_s, x_mm)
        return b"" if 40.0 < x_mm < 44.0 else frame

    fake_pair.carriage.frame = without_some
    with pytest.raises(RigError, match=r"nothing was measured over 4\.\d+ mm, from \d+\.\d to 44"):
        record(fake_pair)


@pytest.mark.parametrize("end", ["sensor", "carriage"])
def test_a_pulled_cable_leaves_a_journal_that_recover_reads(
    end: str, fake_pair: Any, record: Callable[..., Scan], tmp_path: Path
) -> None:
    def come_loose(moved: Any, fields: list[str]) -> None:
        moved.do_M(fields)
        if sum(command.startswith("M,1000,") for command in moved.commands) == 2:
            getattr(fake_pair, end).pull()

    fake_pair.carriage.on["M"] = come_loose
    with pytest.raises(RigError) as caught:
        record(fake_pair)
    assert str(caught.value) == (
        f"{LinkLost('/dev/fake')}; what was recorded before is kept in "
        f"{tmp_path / 'a.journal'}, and `neckform recover {tmp_path}` makes a scan of it"
    )
    bytes_kept = sum(len(r.payload) for r in read_journal(tmp_path / "a.journal"))
    recover(tmp_path)
    scan = read_scan(tmp_path / "a.h5")
    assert sum(len(r.payload) for r in records_of(scan.path)) == bytes_kept
    assert (scan.end, scan.passes[0].good) == ("failed", True)
    assert worst_um(scan, 0) < 8.0


def test_swapped_cables_are_called_that(fake_pair: Any, pair_text: str) -> None:
    crossed = pair_text.replace("/dev/axis", "/dev/x").replace("/dev/probe", "/dev/axis")
    rig_file = parse_rig(crossed.replace("/dev/x", "/dev/probe"), "rig.yaml")
    with (
        pytest.raises(InputError) as caught,
        rig_session(rig_file, fake_pair.open, clock=fake_pair.clock),
    ):
        pass
    assert str(caught.value) == (
        "short-rail: the ports of links probe and axis are swapped: the sensor's controller on "
        "/dev/axis (link probe) counts and reads nothing; exchange the two ports in the rig file"
    )


def test_a_second_port_that_is_not_there_leaves_the_first_closed(
    fake_pair: Any, pair_file: RigFile
) -> None:
    def open_link(port: str, baud: int, framing: str) -> Any:
        if port == "/dev/axis":
            raise faults.cannot_open(port, baud, FileNotFoundError(2, "gone"), ["/dev/probe"])
        return fake_pair.open(port, baud, framing)

    with (
        pytest.raises(RigError, match="there is no port /dev/axis: the serial ports there are"),
        rig_session(pair_file, open_link),
    ):
        pass
    assert fake_pair.sensor.closed


def test_one_port_under_two_names(fake_pair: Any, pair_text: str, tmp_path: Path) -> None:
    (tmp_path / "probe").symlink_to("/dev/axis")
    rig_file = parse_rig(pair_text.replace("/dev/probe", str(tmp_path / "probe")), "rig.yaml")
    with (
        pytest.raises(InputError, match="found one port under two names"),
        rig_session(rig_file, fake_pair.open),
    ):
        pass
    assert fake_pair.opened == []


@pytest.mark.parametrize(
    ("end", "most_hz", "why"),
    [
        ("sensor", 200, "allowed at most 200, the highest rate of slow-1"),
        ("carriage", 15, "found 15 Hz, the highest rate of slow-1; allowed 20 Hz or more"),
    ],
)
def test_a_rate_that_one_of_them_cannot(
    fake_pair: Any, pair_file: RigFile, end: str, most_hz: int, why: str
) -> None:
    slow = encode.hello_reply("slow-1", most_hz)
    getattr(fake_pair, end).on["H"] = lambda end, fields: end.say(slow)
    with (
        pytest.raises(InputError, match=why),
        rig_session(pair_file, fake_pair.open, clock=fake_pair.clock),
    ):
        pass


def test_a_carriage_of_its_own_streams_no_faster_than_it_can(
    fake_pair: Any, open_pair: OpenPair
) -> None:
    slow = encode.hello_reply("slow-1", 50)
    asked: list[list[str]] = []
    fake_pair.carriage.on["H"] = lambda end, fields: end.say(slow)

    def stream(end: Any, fields: list[str]) -> None:
        asked.append(fields)
        end.say(encode.accept("G"))

    fake_pair.carriage.on["G"] = stream
    rig = open_pair(fake_pair)
    rig.hello()
    rig.stream(400.0)
    assert asked == [["50"]]


def test_a_carriage_pushed_by_hand_is_looked_for_on_its_own_link(
    fake_pair: Any, open_pair: OpenPair, pair_file: RigFile
) -> None:
    fake_pair.x_mm = 30.0
    asked: list[str] = []

    def push(question: str) -> None:
        asked.append(question)
        fake_pair.x_mm = 10.0

    hand.reach_start(open_pair(fake_pair), pair_file, PASSES[0], push)
    assert asked == ["Push the carriage onto the first pad (4 to 16 mm; it is at 30.0 mm)"]


def test_a_pass_pushed_by_hand_ends_where_the_carriage_rests(
    fake_pair: Any, open_pair: OpenPair, pair_file: RigFile
) -> None:
    rig = open_pair(fake_pair)
    rig.stream(400)
    fake_pair.travel(["1000", "", "5000"])
    fake_pair.travel(["18400", "", "5000"])
    hand.follow(rig, pair_file, PASSES[0], NoProgress())
    assert rig.place.x_mm == pytest.approx(92.0, abs=0.1)


def test_a_still_look_tells_of_both(fake_pair: Any, pair_file: RigFile) -> None:
    fake_pair.lost = {"axis": 1}
    health = OwnRig(pair_file, fake_pair.open, clock=fake_pair.clock).check(STILL_S)
    probe, axis = health.links
    assert (probe.name, probe.port, probe.hello.device_id) == ("probe", "/dev/probe", "fake-probe")
    assert (axis.name, axis.port, axis.hello.device_id) == ("axis", "/dev/axis", "fake-axis")
    assert (probe.lost, axis.lost) == (0, 17)
    assert health.lost == 17
    assert probe.rate_hz == pytest.approx(400.0, rel=1e-4)
    assert (health.faults, health.clock_fault) == ((), "")
    assert health.clocks is not None
    assert 0.0 < health.clocks.travel_jitter_um < 25.0
    assert health.clocks.travel_jitter_um == pytest.approx(25e3 * health.clocks.u_s)
    assert all(3.0 < late < 15.0 for late in health.clocks.delay_ms)
