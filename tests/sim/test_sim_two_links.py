"""A carriage and a sensor with a port and a clock of their own each."""

import binascii
import json
import os
import select
import subprocess
import sys
import time
from dataclasses import replace

import numpy as np
import pytest

from sim.bench import Bench
from sim.clock import Counters
from sim.delays import Delays
from sim.device import Device, parked_carriage
from sim.faults import Faults
from sim.part import CARRIAGE, SENSOR
from sim.rigspec import RigSpec


def framed(body):
    return body + b"*%04X\n" % binascii.crc_hqx(body, 0xFFFF)


@pytest.fixture
def pair():
    """The two controllers without ports."""
    bench = Bench(3, replace(Faults.none(), clock_ppm=40.0), RigSpec())
    shared = parked_carriage(bench)
    return [Device(bench, 0, part, shared) for part in (CARRIAGE, SENSOR)]


def told(device, body, until_s=0.0):
    device.feed(framed(body))
    return device.produce(100_000, until_s)


def cells(data):
    whole = data.split(b"\n")[:-1]
    lines = [line for line in whole if line.startswith(b"S,")]
    return [line[:-5].decode("ascii").split(",") for line in lines]


def test_each_answers_for_itself_and_the_sensor_does_not_drive(pair):
    carriage, sensor = pair
    assert told(carriage, b"H") == framed(b"H,1,sim-3-carriage,2000")
    assert told(sensor, b"H") == framed(b"H,1,sim-3-sensor,2000")
    for order in (b"M,5,,", b"O", b"K"):
        assert told(sensor, order).startswith(b"N,%b," % order[:1])
    assert told(carriage, b"K").startswith(b"A,K*")


def test_both_show_one_world_each_in_its_own_cells_and_time(pair):
    told(pair[0], b"M,2000,,")
    for device in pair:
        assert told(device, b"G,400") == framed(b"A,G")
    until_s, data = 10.0, [b"", b""]
    for index, device in enumerate(pair):
        while new := device.produce(100_000, until_s):
            data[index] += new
    moved, seen = (cells(each) for each in data)
    assert moved[-1][3:] == ["2000", "0", ""]
    assert seen[-1][3:] == ["0", "", "2000"]
    spans = [(int(each[-1][2]) - int(each[0][2])) % 2**32 for each in (moved, seen)]
    assert spans == [2500 * (len(each) - 1) for each in (moved, seen)]
    assert moved[0][1:3] != seen[0][1:3]


def test_the_clocks_part_by_what_is_stated():
    clocks = [Counters(1, part.clock_share * 40.0) for part in (CARRIAGE, SENSOR)]
    ran_us = [(clock.t_us(1000.0) - clock.t_us(0.0)) % 2**32 for clock in clocks]
    assert ran_us[1] - ran_us[0] == 40_000
    assert clocks[1].second_s == pytest.approx(1.0 - 20e-6, abs=1e-9)


def test_delays_only_add_keep_the_order_and_come_in_bursts():
    delays = Delays(0.005, np.random.default_rng(1))
    late_ms, sent, came = [], {}, []
    for step in range(20_000):
        now_s = 0.0005 * step
        if step % 5 == 0:
            sent[step] = now_s
            delays.send(now_s, b"%d\n" % step)
        for each in delays.arrived(now_s).split():
            came.append(int(each))
            late_ms.append(1e3 * (now_s - sent[int(each)]))
    late = np.array(late_ms)
    assert came == list(sent)[: len(came)]
    assert len(came) > 3990
    assert late.min() < 0.51
    assert late.max() <= 5.5
    assert 0.8 < late.mean() < 2.5


class Pair:
    """The program, both ports open."""

    def __init__(self, *words):
        self.process = subprocess.Popen(
            [sys.executable, "-m", "sim", "--links", "2", *words],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        self.first = json.loads(self.process.stdout.readline())
        flags = os.O_RDWR | os.O_NOCTTY
        self.wires = {name: os.open(port, flags) for name, port in self.first["ports"].items()}
        self.heard = {name: [] for name in self.wires}

    def order(self, **order):
        self.process.stdin.write(json.dumps(order) + "\n")
        self.process.stdin.flush()
        return json.loads(self.process.stdout.readline())

    def say(self, name, body):
        os.write(self.wires[name], framed(body))

    def all(self, name):
        return b"".join(data for _, data in self.heard[name])

    def hear_until(self, name, mark):
        while mark not in self.all(name):
            ready, _, _ = select.select(list(self.wires.values()), [], [], 5.0)
            assert ready, self.all(name)[-200:]
            for other, wire in self.wires.items():
                if wire in ready:
                    self.heard[other].append((time.monotonic(), os.read(wire, 65_536)))

    def end(self):
        for wire in self.wires.values():
            os.close(wire)
        self.process.stdin.close()
        self.process.wait(5)
        self.process.stdout.close()


@pytest.fixture
def program():
    running = Pair("--seed", "3", "--faults", "none", "--pace", "20", "--set", "clock_ppm=40")
    yield running
    running.end()


def test_a_pass_over_two_ports(program, tmp_path):
    assert program.first["port"] == program.first["ports"]["sensor"]
    assert list(program.first["ports"]) == ["carriage", "sensor"]
    written = program.order(do="files", folder=str(tmp_path))
    text = (tmp_path / "rig.yaml").read_text("utf-8")
    assert written["ok"]
    for name, port in program.first["ports"].items():
        assert f"  {name}: {{port: {port}, " in text
        assert f"  link: {name}\n" in text
    for name in program.wires:
        program.say(name, b"G,400")
    program.say("carriage", b"M,3000,,5000")
    program.hear_until("carriage", b",arrived*")
    # A turn later the sensor has come to the same moment.
    program.hear_until("sensor", cells(program.all("sensor"))[-1][1].encode())
    assert cells(program.all("carriage"))[-1][3] == "3000"
    assert "2000" in {each[5] for each in cells(program.all("sensor"))}


def test_twenty_times_as_fast_means_clocks_twenty_times_as_fast(program):
    program.say("sensor", b"G,400")
    program.hear_until("sensor", b"S,")
    first = int(cells(program.all("sensor"))[0][1])
    program.hear_until("sensor", b"S,%d," % ((first + 6000) % 2**32))
    parcels = [(at_s, cells(data)) for at_s, data in program.heard["sensor"]]
    whole = [(at_s, rows[-1]) for at_s, rows in parcels if rows and len(rows[-1]) == 6]
    (first_s, one), (last_s, other) = whole[0], whole[-1]
    rate = (last_s - first_s) / (1e-6 * ((int(other[2]) - int(one[2])) % 2**32))
    # Turns of the loop can be late on a busy machine, at both ends of three quarters of a second.
    assert rate == pytest.approx(0.05, rel=0.2)


def test_one_cable_can_be_pulled_and_plugged(program):
    assert program.order(do="pull", link="sensor")["ok"]
    assert program.order(do="pull", link="bridge")["ok"] is False
    os.close(program.wires["sensor"])
    program.say("carriage", b"H")
    ports = program.order(do="plug")["ports"]
    assert ports["carriage"] == program.first["ports"]["carriage"]
    program.wires["sensor"] = os.open(ports["sensor"], os.O_RDWR | os.O_NOCTTY)
    program.say("sensor", b"H")
    program.hear_until("sensor", b"H,1,sim-3-sensor,2000*")
    program.hear_until("carriage", b"H,1,sim-3-carriage,2000*")
