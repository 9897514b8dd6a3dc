"""The simulated sensors that print and that are polled, without ports."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from sim.bench import Bench
from sim.controller import Speaker, World
from sim.device import parked_carriage
from sim.faults import Faults
from sim.limits import Refusal
from sim.modbus import MODBUS, framed
from sim.part import SENSOR
from sim.printing import PRINTED, SLOW
from sim.rigspec import RigSpec


def world(**faults: int) -> World:
    bench = Bench(3, replace(Faults.none(), **faults), RigSpec())
    return World(bench, parked_carriage(bench), 0, 0.0)


def test_it_prints_evenly_whoever_reads() -> None:
    sensor = PRINTED.make(world(), SENSOR)
    sensor.produce(100_000, 5.0)

    lines = sensor.produce(100_000, 15.0).split(b"\n")[:-1]

    assert len(lines) == pytest.approx(10.0 * 400 / (1.0 + SLOW), abs=1)
    # at the end stop the plunger hangs over nothing, or reads
    assert all(re.fullmatch(rb"D ([+-]\d+\.\d{3}|----) mm", line) for line in lines)


def test_what_nobody_reads_is_lost() -> None:
    sensor = PRINTED.make(world(), SENSOR)
    sensor.produce(100_000, 1.0)
    sensor.hang_up()

    assert sensor.produce(100_000, 100.0) == b""
    assert sensor.produce(100_000, 100.01).count(b"\n") in (3, 4, 5)


def question(function: int = 4, first: int = 0, count: int = 2, unit: int = 7) -> bytes:
    head = bytes([unit, function])
    return framed(head + first.to_bytes(2, "big") + count.to_bytes(2, "big"))


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (question(function=3), framed(bytes([7, 0x83, 1]))),
        (question(first=1), framed(bytes([7, 0x84, 2]))),
        (question(count=0), framed(bytes([7, 0x84, 3]))),
        (question(unit=8), b""),
        (question()[:-1] + b"\x00", b""),
    ],
)
def test_what_a_polled_sensor_says_to_what_it_has_not(asked: bytes, said: bytes) -> None:
    sensor = MODBUS.make(world(), SENSOR)
    sensor.feed(asked)

    assert sensor.produce(1000, 1.0) == said


def test_a_polled_sensor_answers_in_a_few_milliseconds_and_behind_rubbish() -> None:
    sensor = MODBUS.make(world(), SENSOR)
    sensor.produce(1000, 1.0)
    sensor.feed(b"\x07\xff" + question() + question())

    assert sensor.produce(1000, 1.001) == b""
    both = sensor.produce(1000, 1.005)
    assert len(both) == 2 * 9
    assert framed(both[:7]) == both[:9]
    assert both[:3] == bytes([7, 4, 4])


@pytest.mark.parametrize("speaker", [PRINTED, MODBUS])
def test_a_sensor_moves_nothing(speaker: Speaker) -> None:
    sensor = speaker.make(world(), SENSOR)

    assert not sensor.moving
    with pytest.raises(Refusal):
        sensor.push(1.0, 1.0, 0.0)
