"""A cable that comes loose in a pass: what is asked, what is repeated, what is written down."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import h5py
import pytest

from daq.acquire.passes import scan as scan_room
from daq.acquire.passes.lanes import LanePlan, both_ways
from daq.acquire.passes.progress import NoProgress
from daq.acquire.rig.attended import attended
from daq.acquire.use import OwnRig
from daq.errors import InputError, RigError
from daq.files.rig import RigFile
from daq.link.faults import LinkLost
from daq.record.journal import read_journal
from daq.record.journal_format import Kind
from daq.record.notes import ScanBegin
from daq.record.raw import records_of
from daq.record.scan import read_scan
from daq.record.scanfile import build_scan
from daq.wire.line import encode

PASSES = both_ways([LanePlan(1, 2.5, "between", (5.0, 1.0), (93.0, 2.0), False)], 25.0)
LOOSE = "the cable to /dev/fake came loose, or the rig lost power: the port is gone"


@pytest.fixture
def begin(rig_text: str) -> ScanBegin:
    return ScanBegin("a1", "scan", "strung", "", "", "", "neckform 0", rig_text, None, {})


@pytest.fixture
def loose(fake_rig: Any) -> Callable[[int], Any]:
    """A rig whose cable comes loose half way through its numbered move while it streams."""

    def loose(move: int) -> Any:
        moves = 0

        def travel(rig: Any, fields: list[str]) -> None:
            nonlocal moves
            moves += rig.rate_hz > 0
            if moves != move or not rig.rate_hz:
                return rig.do_M(fields)
            rig.say(*rig.travel(fields, 0.5), b"S,123,")  # a frame that never gets its end
            return rig.pull(LinkLost("/dev/fake"))

        return fake_rig({"M": travel})

    return loose


class Plugged:
    """What is on the port each time it is opened; None for nothing."""

    def __init__(self, *rigs: Any) -> None:
        self.rigs = list(rigs)
        self.tried = 0

    def __call__(self, port: str, baud: int, framing: str) -> Any:
        self.tried += 1
        rig = self.rigs[0] if len(self.rigs) == 1 else self.rigs.pop(0)
        if rig is None:
            raise RigError(f"there is no port {port}")
        return rig


def notes(path: Path) -> list[str]:
    return [json.loads(r.payload)["note"] for r in records_of(path) if r.kind is Kind.NOTE]


def test_the_pass_is_repeated_once_a_person_says_so(
    loose: Any, fake_rig: Any, rig_file: RigFile, begin: ScanBegin, tmp_path: Path
) -> None:
    first, second, asked = loose(2), fake_rig(), []
    rig = OwnRig(rig_file, Plugged(first, None, None, second))
    out = rig.record(begin, PASSES, tmp_path / "a.h5", NoProgress(), asked.append)
    scan = read_scan(out)
    assert [(one.good, one.direction, one.attempt) for one in scan.passes] == [
        (True, 1, 1), (False, -1, 1), (True, -1, 2),
    ]  # fmt: skip
    assert scan.passes[1].why == (f"{LOOSE}; plug it in again and repeat",)
    assert 0.4 * 1408 < len(scan.passes[1].samples) < 0.6 * 1408
    assert scan.passes[2].bad_frames == 0
    assert asked == [
        f"{LOOSE}. Plug it in again",
        "/dev/fake is there again. Then bring the cross slide to its zero, clear the carriage's "
        "way: it homes and repeats the pass",
    ]
    moves = [body[0] for body in second.commands if body[0] in "OM"]
    assert moves[0] == "O", "it moved before it was homed"
    assert first.closed
    assert second.closed
    kept = notes(out)
    assert kept.count("reconnected") == 1
    assert kept.index("pass_end", 4) < kept.index("reconnected")
    with h5py.File(out) as file:
        assert file["entry/counts/bad_frames"][()] == 0, "a cut frame got another end"
    build_scan(records_of(out), tmp_path / "again.h5")
    again = read_scan(tmp_path / "again.h5")
    assert [one.samples for one in again.passes] == [one.samples for one in scan.passes]


def test_it_may_come_loose_more_often_than_a_pass_may_fail(
    loose: Any, fake_rig: Any, rig_file: RigFile, begin: ScanBegin, tmp_path: Path
) -> None:
    rigs = [loose(1) for _ in range(5)]
    rig = OwnRig(rig_file, Plugged(*rigs, fake_rig()))
    out = rig.record(begin, PASSES, tmp_path / "a.h5", NoProgress(), lambda _: None)
    assert [one.good for one in read_scan(out).passes] == [False] * 5 + [True] * 2
    assert all(one.closed for one in rigs)
    assert not [thread for thread in threading.enumerate() if thread.name == "rig reader"]


def test_where_nobody_can_be_asked_the_cable_is_what_is_told(
    loose: Any, rig_file: RigFile, begin: ScanBegin, tmp_path: Path
) -> None:
    def nobody(what: str) -> None:
        raise InputError(f"{what}: nobody is there")

    plugged = Plugged(loose(1))
    with pytest.raises(RigError, match=r"came loose.*plug it in again.*neckform recover"):
        OwnRig(rig_file, plugged).record(begin, PASSES, tmp_path / "a.h5", NoProgress(), nobody)
    assert plugged.tried == 1


def test_a_port_that_does_not_come_back(
    loose: Any, rig_file: RigFile, begin: ScanBegin, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.setattr(scan_room, "RECONNECT_S", 0.3)
    plugged = Plugged(loose(1), None)
    with pytest.raises(RigError, match=r"there is no port /dev/fake.*neckform recover"):
        OwnRig(rig_file, plugged).record(
            begin, PASSES, tmp_path / "a.h5", NoProgress(), lambda _: None
        )
    assert plugged.tried >= 2
    records = list(read_journal(tmp_path / "a.journal"))
    assert json.loads(records[-1].payload)["end"] == "failed"


def test_another_controller_on_the_port(
    loose: Any, fake_rig: Any, rig_file: RigFile, begin: ScanBegin, tmp_path: Path
) -> None:
    other = fake_rig({"H": lambda rig, _: rig.say(encode.hello_reply("other-9", 1000))})
    rig = OwnRig(rig_file, Plugged(loose(1), other))
    with pytest.raises(RigError, match="says it is other-9, and before it was fake-1"):
        rig.record(begin, PASSES, tmp_path / "a.h5", NoProgress(), lambda _: None)


def test_the_sensors_cable_of_two_stops_the_carriage(
    fake_pair: Any, pair_file: RigFile, pair_text: str, tmp_path: Path
) -> None:
    travel = fake_pair.travel

    def once(fields: list[str]) -> None:
        travel(fields)
        if fake_pair.sensor.rate_hz:
            fake_pair.travel = travel
            fake_pair.sensor.pull(LinkLost("/dev/probe"))

    fake_pair.travel = once

    def plugged(port: str, baud: int, framing: str) -> Any:
        if fake_pair.opened.count(port):
            fake_pair.sensor.plug()
        return fake_pair.open(port, baud, framing)

    begin = ScanBegin("a1", "scan", "strung", "", "", "", "neckform 0", pair_text, None, {})
    rig = OwnRig(pair_file, plugged, clock=fake_pair.clock)
    out = rig.record(begin, PASSES, tmp_path / "a.h5", NoProgress(), lambda _: None)
    assert [one.good for one in read_scan(out).passes] == [False, True, True]
    assert fake_pair.opened == ["/dev/probe", "/dev/axis", "/dev/probe"]
    assert "K" in fake_pair.carriage.commands


def test_cancelled_from_another_thread(fake_rig: Any, open_rig: Any, rig_file: RigFile) -> None:
    rig = open_rig(fake_rig({"M": lambda rig, _: None}), rig_file)
    rig.hello()
    threading.Timer(0.05, rig.cancel).start()
    with pytest.raises(KeyboardInterrupt):
        rig.move(50.0, None, None)
    rig.halt()  # what follows is not cut short by it


def test_what_comes_while_a_person_is_asked_is_taken(
    fake_rig: Any, open_rig: Any, rig_file: RigFile, sink: Any
) -> None:
    fake = fake_rig()
    rig = open_rig(fake, rig_file)
    heard = threading.Event()
    with rig.listening(lambda _: heard.set()), attended(rig):
        fake.say(fake.event("overrange"))
        assert heard.wait(5.0)
    assert b"overrange" in sink.received


def test_a_cable_that_comes_loose_while_a_person_is_asked(
    fake_rig: Any, open_rig: Any, rig_file: RigFile
) -> None:
    fake = fake_rig()
    rig = open_rig(fake, rig_file)

    def ask() -> None:
        with attended(rig):
            fake.pull()
            (attending,) = (t for t in threading.enumerate() if t.name == "rig attended")
            attending.join(5.0)

    with pytest.raises(LinkLost):
        ask()
