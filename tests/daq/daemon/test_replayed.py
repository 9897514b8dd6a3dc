"""A recorded scan served as a rig."""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.acquire.links.rig_faults import RigRefused
from daq.acquire.passes.progress import NoProgress
from daq.acquire.passes.record import record_scan
from daq.acquire.rig.session import rig_session
from daq.acquire.rig.still import watch
from daq.daemon.ears import REFUSED, LineEar, ear_for
from daq.daemon.replayed import replayed
from daq.errors import InputError
from daq.link.replayed import ReplayedLink, Tape
from daq.record.scan import read_scan
from daq.wire.binary.decode import BinaryDecoder
from daq.wire.line import encode
from daq.wire.line.decode import LineDecoder

CHUNKS = [(0.1, b"a"), (0.2, b"b"), (0.9, b"c")]


@pytest.fixture
def scan(live_rig: Any, rig_file: Any, begin: Any, passes: Any, tmp_path: Path) -> Path:
    path = tmp_path / "scan.h5"
    with rig_session(rig_file, live_rig.open) as rig:
        return record_scan(rig, rig_file, begin, passes, path, NoProgress(), lambda _: None)


def test_a_recording_streams_what_was_recorded_and_moves_nothing(scan: Path) -> None:
    rig_file, open_link = (made := replayed(scan)).rig_file, made.open_link
    with rig_session(rig_file, open_link) as rig:
        assert rig.hellos[0].device_id == "recorded-rig"
        pieces = watch(rig, 400, 0.3)
        with pytest.raises(RigRefused, match=REFUSED):
            rig.home()
        with pytest.raises(RigRefused, match=REFUSED):
            rig.move(10.0, None, None)
    raw = [value for heard in pieces for value in heard.batch.samples.raw.tolist()]
    assert len(raw) >= 100
    assert set(raw) <= {1500, 1501, 1502}
    assert str(scan) in rig_file.used_links[0].port


def test_nothing_is_changed_of_the_scan(scan: Path) -> None:
    before = scan.read_bytes()
    made = replayed(scan)
    with rig_session(made.rig_file, made.open_link):
        pass
    assert scan.read_bytes() == before
    assert len(read_scan(scan).passes) == 2


def test_a_tape_goes_round() -> None:
    tape = Tape(CHUNKS, 1.0)
    assert tape.between(-0.001, 0.15) == b"a"
    assert tape.between(0.15, 0.95) == b"bc"
    assert tape.between(0.95, 2.15) == b"abca"
    assert tape.between(5.0, 5.0) == b""


@given(st.lists(st.floats(0, 20), min_size=2, max_size=30))
def test_however_a_tape_is_read_nothing_is_left_out(times: list[float]) -> None:
    tape, times = Tape(CHUNKS, 1.0), sorted(times)
    pieces = [tape.between(a, b) for a, b in itertools.pairwise(times)]
    assert b"".join(pieces) == tape.between(times[0], times[-1])


def test_the_ear_hears_commands_however_they_are_cut() -> None:
    data = encode.hello() + encode.stream(400) + encode.move(1, None, None) + encode.stop()
    ear = LineEar("r", 400, bytes)
    heard = [one for at in range(len(data)) for one in ear(data[at : at + 1])]
    assert [one.letter for one in heard] == ["H", "G", "M", "X"]
    replies = LineDecoder().feed(b"".join(one.answer for one in heard)).replies
    assert [(one.kind, one.fields) for one in replies] == [
        ("H", ("1", "r", "400")),
        ("A", ("G",)),
        ("N", ("M", REFUSED)),
        ("A", ("X",)),
    ]


def test_a_binary_device_answers_in_binary() -> None:
    ear = ear_for("binary", "r", 5000)()
    assert ear is not None
    (hello,) = ear(encode.hello())
    (reply,) = BinaryDecoder().feed(hello.answer).replies
    assert reply.fields == ("1", "r", "5000")


def test_a_device_that_only_prints_sends_by_itself() -> None:
    assert ear_for("printed", "r", 10)() is None
    link = ReplayedLink(Tape([(0.0, b"1.5\n")], 0.001), 0.0, None)
    link.write(b"whatever")
    assert any(link.read() for _ in range(50))
    link.close()


def test_a_device_that_only_answers_cannot_be_replayed() -> None:
    with pytest.raises(InputError, match="speaks modbus and only answers"):
        ear_for("modbus", "r", 10)
