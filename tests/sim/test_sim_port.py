"""The simulator as others meet it: a program, a pty, JSON lines."""

import binascii
import json
import os
import select
import subprocess
import sys

import pytest


def framed(body):
    return body + b"*%04X\n" % binascii.crc_hqx(body, 0xFFFF)


class Program:
    def __init__(self, *arguments):
        self.process = subprocess.Popen(
            [sys.executable, "-m", "sim", *arguments],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        self.port = json.loads(self.process.stdout.readline())["port"]

    def order(self, **order):
        self.process.stdin.write(json.dumps(order) + "\n")
        self.process.stdin.flush()
        return json.loads(self.process.stdout.readline())

    def end(self):
        self.process.stdin.close()
        self.process.wait(5)
        self.process.stdout.close()


@pytest.fixture(scope="module")
def program():
    running = Program("--seed", "3")
    yield running
    running.end()


@pytest.fixture
def wire(program):
    opened = os.open(program.port, os.O_RDWR | os.O_NOCTTY)
    yield opened
    os.close(opened)


def read_until(wire, marks):
    data = b""
    while not all(mark in data for mark in marks):
        ready, _, _ = select.select([wire], [], [], 5.0)
        assert ready, data[-200:]
        data += os.read(wire, 65_536)
    return data


def test_a_pass_over_the_neck_comes_through_the_pty(program, wire):
    assert program.order(do="place", what="neck") == {"ok": True}
    assert program.order(do="state", state="unstrung") == {"ok": True}
    os.write(wire, framed(b"H") + framed(b"O"))
    read_until(wire, [b"H,1,sim-3,2000*", b",homed*"])
    os.write(wire, framed(b"G,400") + framed(b"M,128000,500,5000"))
    data = read_until(wire, [b",arrived*"])
    lines = data.split(b"\n")
    samples = [line for line in lines if line.startswith(b"S,") and framed(line[:-5])[:-1] == line]
    assert len(samples) >= 10_000
    os.write(wire, framed(b"X"))
    read_until(wire, [b"A,X*"])


def test_a_reader_that_leaves_ends_the_stream_and_another_may_come(program):
    first = os.open(program.port, os.O_RDWR | os.O_NOCTTY)
    os.write(first, framed(b"G,400"))
    read_until(first, [b"A,G*", b"S,"])
    os.close(first)
    # An order answered after the reader left: the port has had its turns.
    for _ in range(3):
        assert program.order(do="truth")["ok"]
    second = os.open(program.port, os.O_RDWR | os.O_NOCTTY)
    os.write(second, framed(b"H"))
    assert read_until(second, [b"H,1,sim-3,2000*"]).count(b"S,") == 0
    os.close(second)


def test_files_are_written_for_this_port(program, tmp_path):
    answer = program.order(do="files", folder=str(tmp_path / "job"))
    assert answer["ok"]
    rig = (tmp_path / "job" / "rig.yaml").read_text("utf-8")
    assert f"port: {program.port}, baud" in rig
    assert "scale_mm: 641" in (tmp_path / "job" / "instrument.yaml").read_text("utf-8")


@pytest.mark.parametrize(
    "order",
    [
        {"do": "dance"},
        {"nothing": 1},
        {"do": "place", "what": "piano"},
        {"do": "cut", "cuts": [{"fret": 23, "string": 1, "remove_um": 5}]},
        {"do": "cut", "cuts": [{"fret": 1, "string": 0, "remove_um": 5}]},
        {"do": "rod", "turns": "half"},
    ],
)
def test_orders_that_cannot_be_done_are_answered_with_why(program, order):
    answer = program.order(**order)
    assert answer["ok"] is False
    assert answer["why"]


def test_noise_comes_down_the_wire(program, wire):
    assert program.order(do="noise", bytes=2000)["ok"]
    data = b""
    while len(data) < 2000:
        ready, _, _ = select.select([wire], [], [], 5.0)
        assert ready
        data += os.read(wire, 65_536)
    os.write(wire, framed(b"H"))
    assert read_until(wire, [b"H,1,sim-3,2000*"])


def test_silence_is_silent_until_it_ends(program, wire):
    assert program.order(do="silence")["ok"]
    os.write(wire, framed(b"H"))
    ready, _, _ = select.select([wire], [], [], 0.2)
    assert not ready
    assert program.order(do="silence", on=False)["ok"]
    os.write(wire, framed(b"H"))
    read_until(wire, [b"H,1,sim-3,2000*"])


def test_a_pulled_cable_ends_the_port_and_a_plugged_one_makes_another():
    program = Program("--seed", "5", "--faults", "none")
    wire = os.open(program.port, os.O_RDWR | os.O_NOCTTY)
    os.write(wire, framed(b"M,1000,,"))
    read_until(wire, [b",arrived*"])
    assert program.order(do="pull")["ok"]
    try:
        assert os.read(wire, 100) == b""
    except OSError as gone:
        assert gone.errno == 5  # noqa: PT017
    os.close(wire)
    assert program.order(do="silence")["ok"] is False
    port = program.order(do="plug")["port"]
    wire = os.open(port, os.O_RDWR | os.O_NOCTTY)
    os.write(wire, framed(b"H"))
    read_until(wire, [b"H,1,sim-5,2000*"])
    os.write(wire, framed(b"G,400"))
    assert b",0,0," in read_until(wire, [b"S,", b"\nS,"])
    os.close(wire)
    assert program.order(do="quit")["ok"]
    program.end()
    assert program.process.returncode == 0


def test_in_real_time_a_second_takes_a_second():
    program = Program("--realtime")
    wire = os.open(program.port, os.O_RDWR | os.O_NOCTTY)
    # The first thing said to it: the time before that has not piled up.
    os.write(wire, framed(b"G,400"))
    data = b""
    while data.count(b"\n") < 100:
        ready, _, _ = select.select([wire], [], [], 5.0)
        assert ready
        data += os.read(wire, 65_536)
    # 100 samples are a quarter of a second: unthrottled there would have been thousands.
    assert data.count(b"\n") < 130
    os.close(wire)
    program.end()


@pytest.mark.parametrize(
    ("order", "why"),
    [
        ({"do": "place", "what": "pin"}, "the order lacks the key 'mm'"),
        ({"do": "place", "what": "pin", "mm": 0}, "mm 0 is no size for a pin"),
        ({"do": "place", "what": "straightedge", "turned": "round"}, "allowed: no, over, ends"),
        ({"do": "place", "what": "gauge", "mm": 1, "tip_from": "left"}, "allowed: above, below"),
        ({"do": "push", "to_mm": 600, "seconds": 10}, "start it with --drive hand"),
        ({"do": "pull", "link": "sensor"}, "found link 'sensor'; allowed: rig"),
    ],
)
def test_calibration_orders_that_cannot_be_done_say_why(program, order, why):
    answer = program.order(**order)
    assert answer["ok"] is False
    assert why in answer["why"]


def test_truth_tells_what_was_laid_on_and_how_warm_it_is(program):
    assert program.order(do="place", what="gauge", mm=1.25, tip_from="above")["ok"]
    assert program.order(do="temperature", celsius=24.5)["ok"]
    truth = program.order(do="truth")
    assert truth["gauge_mm"] == pytest.approx(1.25, abs=0.0005)
    assert (truth["what"], truth["celsius"]) == ("gauge", pytest.approx(24.5, abs=0.01))
    assert program.order(do="place", what="straightedge", turned="ends", at_mm=25)["ok"]
    truth = program.order(do="truth")
    assert (truth["what"], truth["turned"], truth["gauge_mm"]) == ("straightedge", "ends", None)


def test_a_hand_pushes_the_carriage_over_the_pty(tmp_path):
    program = Program("--faults", "none", "--drive", "hand")
    assert program.order(do="files", folder=str(tmp_path))["ok"]
    rig = (tmp_path / "rig.yaml").read_text("utf-8")
    assert "drive: hand" in rig
    assert "cross" not in rig
    wire = os.open(program.port, os.O_RDWR | os.O_NOCTTY)
    os.write(wire, framed(b"G,400"))
    read_until(wire, [b"A,G*"])
    assert program.order(do="push", to_mm=50, seconds=2, y_mm=3)["ok"]
    read_until(wire, [b",10000,,*"])
    os.close(wire)
    program.end()
