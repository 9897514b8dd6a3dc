"""The simulated controllers in binary, their bytes taken apart by the page alone."""

import binascii
import struct
from dataclasses import replace

import numpy as np
import pytest

from sim.bench import Bench
from sim.binary_voice import BinaryVoice
from sim.device import Device, parked_carriage
from sim.faults import Faults
from sim.options import options
from sim.part import CARRIAGE, HAND_RIG, RIG, SENSOR
from sim.rigspec import RigSpec

LENGTHS = {0xF0: 17, 0xC3: 25, 0xE1: 21, 0x87: 27, 0xB4: 19}


def line(body):
    return body + b"*%04X\n" % binascii.crc_hqx(body, 0xFFFF)


def device(part, faults=None):
    bench = Bench(3, faults or Faults.none(), RigSpec())
    return Device(bench, 0, part, parked_carriage(bench), 0.0, BinaryVoice(part))


def told(rig, body, until_s=None):
    rig.feed(line(body))
    return rig.produce(1, until_s)


def taken_apart(data):
    """Texts, and rows of (kind, seq, t, raw, ...) of a stream without damage."""
    texts, rows, at = [], [], 0
    while at < len(data):
        assert data[at : at + 2] == b"\xd6\xb5"
        kind = data[at + 2]
        size = 6 + data[at + 3] if kind == 0x78 else LENGTHS[kind]
        checked, check = data[at + 2 : at + size - 2], data[at + size - 2 : at + size]
        assert binascii.crc_hqx(checked, 0xFFFF) == struct.unpack("<H", check)[0]
        if kind == 0x78:
            texts.append(checked[2:])
        else:
            counts = checked[9:]
            more = f"<{len(counts) // 4}i" + ("h" if len(counts) % 4 else "")
            cells = struct.unpack("<II", checked[1:9]) + struct.unpack(more, counts)
            rows.append((kind, *cells))
        at += size
    return texts, rows


def samples(rig, count):
    data = b""
    while len(taken_apart(data)[1]) < count:
        data += rig.produce(4096)
    return taken_apart(data)


def test_commands_are_lines_and_answers_are_texts():
    rig = device(RIG)
    assert told(rig, b"H") == bytes.fromhex("d6b5780e") + b"H,1,sim-3,2000" + b"l\xdd"
    assert taken_apart(told(rig, b"M,128001,,"))[0] == [b"N,M,x 128001 outside 0 to 128000"]


@pytest.mark.parametrize(
    ("part", "faults", "kind", "size"),
    [
        (RIG, Faults.none(), 0xC3, 6),
        (HAND_RIG, Faults.none(), 0xE1, 5),
        (CARRIAGE, Faults.none(), 0xC3, 6),
        (SENSOR, Faults.none(), 0xF0, 4),
        (SENSOR, replace(Faults.none(), thermometer=1), 0xB4, 5),
        (RIG, replace(Faults.none(), thermometer=1), 0x87, 7),
    ],
)
def test_each_part_sends_what_it_has_and_no_more(part, faults, kind, size):
    rig = device(part, faults)
    assert taken_apart(told(rig, b"G,400"))[0] == [b"A,G"]
    texts, rows = samples(rig, 30)
    assert {(row[0], len(row)) for row in rows} == {(kind, size)}
    steps = np.diff([row[1:3] for row in rows], axis=0) % 2**32
    assert {tuple(step) for step in steps.tolist()} == {(1, 2500)}
    # At its end stop there is nothing under the sensor.
    assert (b"overrange" in b"".join(texts)) == part.reads
    assert {row[3] for row in rows} == {-(2**31)}


def test_a_pass_reads_the_same_in_binary_as_in_lines(make_host, take_columns):
    faults = replace(Faults(), bad_frame_one_in=0)
    said, host = device(RIG, faults), make_host(3, faults)
    for rig in (said, host.device):
        rig._bench.place("neck")
    told(said, b"G,400")
    host.say("G,400")
    in_lines = take_columns(host.run("M,124000,300,5000"))
    told(said, b"M,124000,300,5000")
    data = b""
    while said.moving:
        data += said.produce(16_384)
    rows = np.array(taken_apart(data)[1], dtype=float)[:, [1, 2, 4, 5, 3]]
    # Blocks of another length draw the sensor's noise in another order: a few of its sigmas.
    same = np.isfinite(in_lines[:, 4])
    np.testing.assert_array_equal(rows[:, :4], in_lines[: len(rows), :4])
    np.testing.assert_array_equal(rows[~same, 4], -(2.0**31))
    assert np.median(np.abs(rows[same, 4] - in_lines[same, 4])) < 5


def test_one_frame_in_so_many_is_lost_or_damaged():
    rig = device(SENSOR, replace(Faults.none(), bad_frame_one_in=50))
    told(rig, b"G,400")
    data = b"".join(rig.produce(16_384) for _ in range(60))
    good = sum(
        binascii.crc_hqx(frame[:13], 0xFFFF) == struct.unpack("<H", frame[13:15])[0]
        for frame in data.split(b"\xd6\xb5")
        if len(frame) == 15
    )
    sent = 60 * (16_384 // 17)
    assert sent - good == pytest.approx(sent / 50, abs=5 * (sent / 50) ** 0.5)
    # Half of them are lost whole, a quarter lose half of their bytes.
    lost = 17 * sent / 50
    assert 17 * sent - len(data) == pytest.approx(0.625 * lost, rel=0.25)


@pytest.mark.parametrize(
    ("words", "speaks"),
    [
        ([], {"rig": "line"}),
        (["--protocol", "binary"], {"rig": "binary"}),
        (["--links", "2", "--protocol", "binary"], {"carriage": "binary", "sensor": "binary"}),
        (
            ["--links", "2", "--sensor-protocol", "binary"],
            {"carriage": "line", "sensor": "binary"},
        ),
    ],
)
def test_each_link_speaks_what_was_asked_of_it(words, speaks):
    assert options(words).speaks == speaks


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--protocol", "morse"], "the rig cannot speak 'morse'; allowed: line, binary"),
        (["--sensor-protocol", "binary"], "means nothing without --links 2"),
        (["--links", "2", "--carriage-protocol", "x"], "the carriage cannot speak 'x'; allowed:"),
    ],
)
def test_what_no_link_speaks_ends_in_a_line(capsys, words, said):
    with pytest.raises(SystemExit) as ended:
        options(words)
    assert ended.value.code == 2
    assert said in capsys.readouterr().err
