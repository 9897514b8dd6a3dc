"""A rig that says too much, the same again, or has a clock that stands; and names that stay."""

import binascii
import json
import os
import select
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest


def framed(body):
    return body + b"*%04X\n" % binascii.crc_hqx(body, 0xFFFF)


class Program:
    """The simulator, and one port of it that is read."""

    def __init__(self, *words):
        self.process = subprocess.Popen(
            [sys.executable, "-m", "sim", "--seed", "3", "--faults", "none", *words],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        self.first = json.loads(self.process.stdout.readline())
        self.wire = self.open(self.first["port"])

    def open(self, port):
        return os.open(port, os.O_RDWR | os.O_NOCTTY)

    def order(self, **order):
        self.process.stdin.write(json.dumps(order) + "\n")
        self.process.stdin.flush()
        return json.loads(self.process.stdout.readline())

    def say(self, body):
        os.write(self.wire, framed(body))

    def hear(self, enough):
        data = b""
        while not enough(data):
            ready, _, _ = select.select([self.wire], [], [], 5.0)
            assert ready, data[-200:]
            data += os.read(self.wire, 65_536)
        return data

    def end(self):
        os.close(self.wire)
        self.process.stdin.close()
        self.process.wait(5)
        self.process.stdout.close()


@pytest.fixture
def start():
    running = []

    def begin(*words):
        running.append(Program(*words))
        return running[-1]

    yield begin
    for program in running:
        program.end()


def samples(data):
    lines = [line for line in data.split(b"\n")[1:-1] if line.startswith(b"S,")]
    return [tuple(int(cell) for cell in line.split(b",")[1:3]) for line in lines]


def many(data):
    return data.count(b"S,") > 400


def test_the_same_sample_again_and_again_until_it_ends(start):
    program = start("--realtime")
    program.say(b"G,2000")
    program.hear(many)
    assert program.order(do="repeat")["ok"]
    program.hear(many)
    assert len(set(samples(program.hear(many)))) == 1
    assert program.order(do="repeat", on=False)["ok"]
    program.hear(many)
    again = samples(program.hear(many))
    assert len(set(again)) == len(again)


def test_a_clock_that_stands_still_counts_samples_all_the_same(start):
    program = start("--realtime")
    program.say(b"G,2000")
    before = samples(program.hear(many))
    assert program.order(do="freeze_clock")["ok"]
    program.hear(many)
    seq, t_us = np.array(samples(program.hear(many))).T
    assert len(set(t_us.tolist())) == 1
    assert set(np.diff(seq).tolist()) == {1}
    assert program.order(do="freeze_clock", on=False)["ok"]
    program.hear(many)
    late = samples(program.hear(many))[-1]
    since = [(now - then) % 2**32 for now, then in zip(late, before[0], strict=True)]
    assert since[1] == 500 * since[0]


@pytest.mark.parametrize(
    ("what", "mark", "words"),
    [
        ("samples", b"S,", ()),
        ("events", b",overrange*", ()),
        ("samples", b"\xd6\xb5\xc3", ("--protocol", "binary")),
        ("events", b",overrange", ("--protocol", "binary")),
    ],
)
def test_a_flood_is_far_more_than_was_asked_for(start, what, mark, words):
    program = start("--realtime", *words)
    assert program.order(do="flood", what=what)["ok"]
    # At 1 Hz there would be none of them yet.
    program.say(b"G,1")
    program.hear(lambda data: data.count(mark) > 50_000 and b"A,G" in data)
    assert program.order(do="flood", on=False)["ok"]
    program.say(b"X")
    check = 2 if words else len("*3A0D\n")
    program.hear(lambda data: len(data.partition(b"A,X")[2]) >= check)
    assert not select.select([program.wire], [], [], 0.2)[0]


@pytest.mark.parametrize(
    ("order", "why"),
    [
        ({"do": "flood", "what": "words"}, "found 'words'; allowed: samples, events"),
        ({"do": "repeat", "link": "sensor"}, "found link 'sensor'; allowed: rig"),
    ],
)
def test_troubles_that_cannot_be_had_say_why(start, order, why):
    answer = start().order(**order)
    assert (answer["ok"], why in answer["why"]) == (False, True)


def test_a_name_outlasts_a_pulled_cable(start, tmp_path):
    folder = tmp_path / "by-id"
    program = start("--links", "2", "--link-folder", str(folder))
    assert program.first["ports"] == {
        "carriage": str(folder / "carriage"),
        "sensor": str(folder / "sensor"),
    }
    assert program.first["port"] == str(folder / "sensor")
    assert program.order(do="files", folder=str(tmp_path))["ok"]
    assert f"sensor: {{port: {folder}/sensor, " in (tmp_path / "rig.yaml").read_text("utf-8")
    assert program.order(do="pull", link="sensor")["ok"]
    assert [name.name for name in folder.iterdir()] == ["carriage"]
    # Someone else takes the number of the port that has gone.
    taken = os.openpty()
    assert program.order(do="plug")["port"] == str(folder / "sensor")
    assert Path(folder / "sensor").resolve() != Path(os.ttyname(taken[1]))
    os.close(program.wire)
    program.wire = program.open(str(folder / "sensor"))
    program.say(b"H")
    program.hear(lambda data: b"H,1,sim-3-sensor,2000*" in data)
    for end in taken:
        os.close(end)
    assert program.order(do="quit")["ok"]
    program.process.wait(5)
    assert list(folder.iterdir()) == []
